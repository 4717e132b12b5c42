// SPDX-License-Identifier: MIT
// What is not an edge comes in order, too: whatever waits together with it, and however late the
// loop is, it is taken in when the timers have run to its stamp.
#include "property/scene.hpp"
#include "property/sweep.hpp"
#include "support/enumerate.hpp"
#include "support/seeds.hpp"

#include <algorithm>
#include <array>
#include <iostream>
#include <sstream>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

namespace {

enum class What : unsigned char {
    edge,
    refused,
    accepted,
    up,
    down,
    preparing,
    not_preparing,
    manager_gone,
    manager_there,
    call_off,
    no_post_halt,
};
constexpr std::size_t what_count = 11;

constexpr std::array<std::string_view, what_count> names{"edge",
                                                         "refused",
                                                         "accepted",
                                                         "true",
                                                         "false",
                                                         "preparing",
                                                         "not preparing",
                                                         "manager gone",
                                                         "manager there",
                                                         "call off",
                                                         "no post-halt line"};

struct Event {
    Duration after;  ///< the one before
    What what;
};

/// What is done before an event is fed.
enum class Between : unsigned char { nothing, deadlines, late };
constexpr std::size_t between_count = 3;

/// Answers are to `request`: the one that the scene began with, or none.
Input input_of(What what, Instant at, Level& level, std::uint32_t request) {
    switch (what) {
    case What::edge:
        level = !level;
        return Sample{at, level};
    case What::refused:
        return Answer{at, AnswerKind::refused, request};
    case What::accepted:
        return Answer{at, AnswerKind::accepted, request};
    case What::up:
        return GoingDown{at, true};
    case What::down:
        return GoingDown{at, false};
    case What::preparing:
        return Preparing{at, 1, BeingPrepared::yes};
    case What::not_preparing:
        return Preparing{at, 1, BeingPrepared::no};
    case What::manager_gone:
        return LoginManager{at, false};
    case What::manager_there:
        return LoginManager{at, true};
    case What::call_off:
        return CallOff{at};
    case What::no_post_halt:
        return VerdictKnown{at, Verdict::absent};
    }
    return CallOff{at};
}

/// What came of it. A request that was withdrawn may have left before, or not: that depends on when
/// somebody woke up. So does whether the lock was let go for a moment.
std::string outcome(const Scene& scene, std::size_t left_before, std::size_t notes_before) {
    std::ostringstream out;
    std::ostringstream requests;
    const auto& left = scene.shell.left();
    const auto withdrawn = [&](std::uint32_t number) {
        return std::any_of(left.begin(), left.end(), [&](const Left& each) {
            const auto* withdraw = std::get_if<Withdraw>(&each.action);
            return withdraw != nullptr && withdraw->number == number;
        });
    };
    for (std::size_t i = left_before; i < left.size(); ++i) {
        const ActionOut& action = left[i].action;
        const auto* ask = std::get_if<Ask>(&action);
        const bool provisional = std::holds_alternative<Withdraw>(action) ||
                                 std::holds_alternative<DelayLock>(action) ||
                                 std::holds_alternative<LookAtPostHalt>(action);
        if (!provisional && (ask == nullptr || !withdrawn(ask->number))) {
            (ask == nullptr ? out : requests) << "  " << text_of(action) << "\n";
        }
    }
    out << requests.str();  // they leave last, when all that was due has been done
    out << text_of(
        std::vector<Note>(scene.shell.notes().begin() + static_cast<std::ptrdiff_t>(notes_before),
                          scene.shell.notes().end()));
    const Cue cue = scene.shell.core().cue();
    out << "  " << text_of(cue.name) << " since " << text_of(cue.since) << " until "
        << text_of(cue.until) << "\n";
    return out.str();
}

/// The scene's own request has been sent; none after it is.
std::string run(Scene scene,
                const std::vector<Event>& events,
                const std::vector<Between>& between) {
    scene.shell.sends = false;
    const bool closed = scene.state() == State::fault;  // no edge comes of a closed line
    const std::uint32_t request = scene.asks() > 0 ? 1 : 99;
    const std::size_t left = scene.shell.left().size();
    const std::size_t notes = scene.shell.notes().size();
    for (std::size_t i = 0; i < events.size(); ++i) {
        scene.now += events[i].after;
        if (between[i] == Between::deadlines) {
            scene.shell.wait(scene.now);
        } else if (between[i] == Between::late) {
            scene.shell.wake(scene.now);
        }
        if (closed && events[i].what == What::edge) {
            continue;
        }
        scene.shell.feed(input_of(events[i].what, scene.now, scene.level, request));
    }
    scene.pass(4500ms);
    scene.shell.wake(scene.now);
    return outcome(scene, left, notes);
}

std::string text_of(const std::vector<Event>& events) {
    std::ostringstream out;
    for (const Event& event : events) {
        out << " +" << event.after.count() / 1'000'000 << " ms "
            << names[static_cast<std::size_t>(event.what)] << ",";
    }
    return out.str();
}

std::string difference(const Scene& scene,
                       const std::vector<Event>& events,
                       const std::vector<Between>& between) {
    const std::string timely =
        run(scene, events, std::vector<Between>(events.size(), Between::deadlines));
    const std::string other = run(scene, events, between);
    return timely == other ? ""
                           : "from " + std::string(text_of(scene.state())) + text_of(events) +
                                 "\none:\n" + timely + "other:\n" + other;
}

constexpr std::array<Duration, 5> gaps{10ms, 30ms, 40ms, 200ms, 4s};

Event any_event(Dice& dice) {
    return {dice.pick(gaps), static_cast<What>(dice.one_in(2) ? 0 : dice.below(what_count))};
}

}  // namespace

TEST_CASE("it makes no difference how two inputs of any kind are grouped, in any state",
          "[invariance]") {
    std::uint64_t runs = 0;
    for (std::size_t state = 0; state < state_count; ++state) {
        const Scene scene(static_cast<State>(state));
        for_each_word(gaps.size() * what_count, 2, [&](const std::vector<std::size_t>& word) {
            std::vector<Event> events;
            events.reserve(word.size());
            for (const std::size_t letter : word) {
                events.push_back(
                    {gaps[letter % gaps.size()], static_cast<What>(letter / gaps.size())});
            }
            std::string wrong;
            for_each_word(between_count, 2, [&](const std::vector<std::size_t>& how) {
                ++runs;
                wrong = difference(
                    scene, events, {static_cast<Between>(how[0]), static_cast<Between>(how[1])});
                return wrong.empty();
            });
            INFO(wrong);
            REQUIRE(wrong.empty());
            return !shortened || runs < 2'000 * (state + 1);
        });
    }
    std::cout << runs << " runs" << std::endl;
}

TEST_CASE("nor does it with many inputs of any kind", "[invariance]") {
    Dice dice(seed_for("grouping of inputs of any kind"));
    const int count = shortened ? 2'000 : 50'000;
    std::vector<Scene> scenes;
    for (std::size_t state = 0; state < state_count; ++state) {
        scenes.emplace_back(static_cast<State>(state));
    }
    for (int i = 0; i < count; ++i) {
        std::vector<Event> events;
        std::vector<Between> between;
        for (std::size_t k = 0; k < 8; ++k) {
            events.push_back(any_event(dice));
            between.push_back(static_cast<Between>(dice.below(between_count)));
        }
        const std::string wrong = difference(dice.pick(scenes), events, between);
        if (!wrong.empty()) {
            FAIL(wrong);
        }
    }
}

TEST_CASE("while a level that was read contradicts, what is not an edge waits in order",
          "[invariance]") {
    Scene scene(State::asked);
    scene.pass(30s - 10ms - 4s);
    scene.shell.feed(LevelRead{scene.now, Level::active});  // the edge to it is still on its way
    scene.shell.feed(GoingDown{scene.now, true});
    scene.shell.feed(GoingDown{scene.now, false});
    CHECK(scene.state() == State::asked);
    const Instant heard = scene.now;
    scene.shell.true_level = [](Instant) { return Level::active; };
    scene.pass(49ms);
    CHECK(scene.state() == State::asked);
    scene.pass(6ms);
    // Then the line is read anew, and that ends the show of the refusal, too.
    CHECK(scene.state() == State::waiting);
    CHECK(scene.shell.core().cue().since <= heard + 55ms);
    std::vector<State> went;
    for (const Note& note : scene.shell.notes()) {
        if (note.from != note.to && note.at >= heard) {
            went.push_back(note.to);
        }
    }
    CHECK(went == std::vector<State>{State::leaving, State::refused, State::waiting});
}
