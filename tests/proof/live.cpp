// SPDX-License-Identifier: MIT
// The way to the end, in which nothing strange happens.
#include "world.hpp"

#include <algorithm>

namespace nightlatch::proof {

using namespace core;

/// What is owed is given, what is due passes; then to the next.
void World::calm_step(Instant until) {
    for (std::size_t i = 0; i < lines_.size(); ++i) {
        const auto line = static_cast<std::uint8_t>(i);
        if (lines_[i].phase == Phase::owes_opening) {
            make_of_line({Kind::opened, 0, line});
        } else if (lines_[i].phase == Phase::owes_resync) {
            make_of_line({Kind::resync, 0, line});
        }
    }
    const std::uint32_t before = question_;
    wake({});
    if (question_ != before && answers_) {
        message({}, Preparing{now_, question_, BeingPrepared::no});
    }
    const bool owes = std::any_of(lines_.begin(), lines_.end(), [](const LineWorld& line) {
        return line.phase == Phase::owes_opening || line.phase == Phase::owes_resync;
    });
    if (!owes) {
        now_ = std::min(std::max(core_.next_deadline(), now_ + one_tick), until);
    }
}

void World::calm_until(Instant until) {
    while (now_ < until) {
        calm_step(until);
    }
    calm_step(until);
}

/// The button is down. Drop-outs of a tick each: first as many as let it go, then, of the press
/// that has begun anew, one fewer in one episode. Gives back when that began.
Instant World::bounce(std::uint8_t line) {
    const auto lets_go = settings_->release_interval / one_tick;
    Instant begin = now_;
    for (auto i = 1; i < 2 * lets_go; ++i) {
        calm_until(now_ + (i <= lets_go + 1 ? settings_->press_interval : one_tick));
        make_of_line({Kind::edge, 0, line});
        calm_until(now_ + one_tick);
        make_of_line({Kind::edge, 1, line});
        begin = i == lets_go ? now_ : begin;
    }
    return begin;
}

World::Calm World::live_on(Duration wait, Duration hold, std::uint8_t line, bool bounces) {
    answers_ = !bounces;
    for (std::size_t i = 0; i < lines_.size(); ++i) {
        if (lines_[i].phase == Phase::open && lines_[i].level == Level::active) {
            make_of_line({Kind::edge, 0, static_cast<std::uint8_t>(i)});
        }
    }
    calm_until(now_ + wait);
    asks_ = 0;
    asker_ = line == button_line ? no_index : line - 1U;
    make_of_line({Kind::edge, 1, line});
    const Instant end = (bounces ? bounce(line) : now_) + hold;
    calm_until(end);
    make_of_line({Kind::edge, 0, line});
    const Instant last = end + settings_->release_interval + settings_->grace;
    calm_until(last);
    calm_step(last);
    return {asks_, asks_ == 1};
}

}  // namespace nightlatch::proof
