// SPDX-License-Identifier: MIT
#include "bench/year_of_presses.hpp"

#include "rehearsal/bounce.hpp"
#include "support/seeds.hpp"

#include <utility>

namespace nightlatch::bench {
namespace {

using namespace std::chrono_literals;
using test::Dice;

constexpr int presses_a_day = 20;
constexpr Duration day = 24h;
constexpr Duration apart = 1h;
constexpr Duration good_switch = 6200us;
constexpr Duration bad_contact = 50ms;

Duration any_below(Dice& dice, Duration most) {
    return Duration(
        static_cast<std::int64_t>(dice.below(static_cast<std::uint64_t>(most.count()))));
}

/// Pairs of contact and drop-out whose sum stays below what was published.
rehearsal::Bounce any_bounce(Dice& dice) {
    const Duration most = dice.one_in(20) ? bad_contact : good_switch;
    const std::uint64_t pairs = dice.below(6);
    rehearsal::Bounce bounce;
    for (std::uint64_t i = 0; i < 2 * pairs; ++i) {
        bounce.push_back(1us + any_below(dice, most / static_cast<std::int64_t>(2 * pairs)));
    }
    return bounce;
}

Duration any_length(Dice& dice, Duration hold) {
    switch (dice.below(4)) {
    case 0:
        return 60ms + any_below(dice, 200ms);  // a tap
    case 1:
        return 300ms + any_below(dice, hold - 500ms);
    case 2:
        return hold - 100ms + any_below(dice, 100ms);
    default:
        return hold - 20ms + any_below(dice, 20ms);
    }
}

class Maker {
public:
    Maker(Duration hold, std::uint64_t seed) : dice_(seed), hold_(hold) {}

    void one_day(Duration from) {
        if (from > 0s) {
            year_.script.events.push_back({from, rehearsal::ServiceDoes::boot});
        }
        for (int i = 0; i + 1 < presses_a_day; ++i) {
            press(from + apart * (i + 1), any_length(dice_, hold_));
        }
        press(from + apart * presses_a_day, hold_ + any_below(dice_, 20ms));
    }

    Year take(Duration end) {
        year_.script.end = end;
        return std::move(year_);
    }

private:
    void press(Duration at, Duration length) {
        const rehearsal::Bounce closing = any_bounce(dice_);
        const Duration begin = at + rehearsal::length_of(closing);
        const Duration release = begin + length;
        rehearsal::add_edge(year_.script.events, at, Level::active, closing);
        rehearsal::add_edge(year_.script.events, release, Level::inactive, any_bounce(dice_));
        year_.presses.push_back({begin, release});
    }

    Dice dice_;
    Duration hold_;
    Year year_;
};

}  // namespace

Year year_of_presses(int days, Duration hold, std::uint64_t seed) {
    Maker maker(hold, seed);
    for (int i = 0; i < days; ++i) {
        maker.one_day(day * i);
    }
    return maker.take(day * days);
}

}  // namespace nightlatch::bench
