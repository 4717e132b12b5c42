// SPDX-License-Identifier: MIT
// Single promises of the core that read best as a story. The state table as a whole, and what must
// hold for every input, are in tests/property.
#include "core/core.hpp"

#include <algorithm>
#include <vector>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;

namespace {

constexpr Instant zero{50s};

Settings one_stage() {
    Settings settings;
    settings.stages = {{"off", 3s, Action::power_off}};
    return settings;
}

struct Bench {
    Core core;
    std::vector<ActionOut> actions;

    explicit Bench(Settings settings = one_stage())
        : core(std::make_shared<const Settings>(std::move(settings))) {
        core.feed(Resync{zero, Level::inactive, ResyncWhy::start, 0});
        advance(1s);
        actions.clear();
    }

    void sample(Duration at, Level level) { core.feed(Sample{zero + at, level}); }

    void advance(Duration at) {
        core.advance(zero + at);
        while (auto action = core.take_action()) {
            actions.push_back(*action);
        }
    }

    template <class T>
    [[nodiscard]] std::size_t count() const {
        std::size_t found = 0;
        for (const auto& action : actions) {
            found += std::holds_alternative<T>(action) ? 1U : 0U;
        }
        return found;
    }
};

}  // namespace

TEST_CASE("a request leaves only after the level was read, and not when it contradicts") {
    Bench bench;
    bench.sample(2s, Level::active);
    bench.sample(6s, Level::inactive);
    bench.sample(7s, Level::inactive);  // the release has settled by this stamp
    CHECK(bench.core.next_deadline() <= zero + 7s);
    CHECK_FALSE(bench.core.take_action());
    bench.core.feed(LevelRead{zero + 7s, Level::active});
    bench.advance(7s);
    CHECK(bench.count<Ask>() == 0);
    CHECK(bench.count<RunResync>() == 1);
    CHECK(bench.core.state() == State::waiting);
}

TEST_CASE("no deadline passes while the level read contradicts; the late edge then counts") {
    Bench bench;
    bench.sample(2s, Level::active);
    bench.advance(4900ms);
    bench.core.feed(LevelRead{zero + 5s, Level::inactive});
    bench.advance(5s);
    CHECK(bench.core.state() == State::holding);
    bench.sample(4990ms, Level::inactive);
    bench.advance(6s);
    CHECK(bench.count<Ask>() == 0);
    CHECK(bench.core.state() == State::rest);
}

TEST_CASE("a contradiction that no edge explains is answered by reading the line anew") {
    Bench bench;
    bench.sample(2s, Level::active);
    bench.core.feed(LevelRead{zero + 5s, Level::inactive});
    bench.advance(5s);
    CHECK(bench.core.next_deadline() < zero + 5100ms);
    bench.core.feed(LevelRead{zero + 5060ms, Level::inactive});
    bench.advance(5060ms);
    CHECK(bench.count<RunResync>() == 1);
    CHECK(bench.core.state() == State::waiting);
    CHECK(bench.count<Ask>() == 0);
}

TEST_CASE("acting on the threshold asks while held, after the guard, and never holds back") {
    Settings settings = one_stage();
    settings.act_on = ActOn::threshold;
    Bench bench(settings);
    bench.sample(2s, Level::active);
    bench.advance(5004ms);
    CHECK(bench.count<Ask>() == 0);
    bench.advance(5005ms);
    CHECK(bench.count<Ask>() == 1);
    bench.core.feed(GoingDown{zero + 5100ms, true, GoingDownKind::power_off});
    bench.advance(5100ms);
    CHECK(bench.count<DelayLock>() == 1);
}

TEST_CASE("a level present at a Resync is not a press in any state") {
    Bench bench;
    bench.sample(2s, Level::active);
    bench.sample(6s, Level::inactive);
    bench.advance(7s);
    REQUIRE(bench.core.state() == State::asked);
    bench.core.feed(Resync{zero + 8s, Level::active, ResyncWhy::gap, 0});
    bench.core.feed(Answer{zero + 8s, AnswerKind::refused});
    bench.advance(60s);
    CHECK(bench.count<Ask>() == 1);
    CHECK(bench.core.state() == State::waiting);
}

TEST_CASE("two announcements read in one go are both told") {
    Settings settings = one_stage();
    settings.stages = {{"show", 500ms, Action::announce}};
    Bench bench(settings);
    for (const Duration at : {2s, 4s}) {
        bench.sample(at, Level::active);
        bench.sample(at + 1s, Level::inactive);
    }
    bench.advance(10s);
    CHECK(bench.count<Publish>() == 2);
}

TEST_CASE("the longest stage reached acts") {
    Settings settings = one_stage();
    settings.stages = {{"again", 2s, Action::reboot}, {"off", 5s, Action::power_off}};
    for (const auto& [held, action] :
         {std::pair{2500ms, Action::reboot}, std::pair{5000ms, Action::power_off}}) {
        Bench bench(settings);
        bench.sample(2s, Level::active);
        bench.sample(2s + held, Level::inactive);
        bench.advance(20s);
        REQUIRE(bench.count<Ask>() == 1);
        CHECK(std::get<Ask>(bench.actions.front()).action == action);
        CHECK(std::get<Ask>(bench.actions.front()).held == held);
    }
}

TEST_CASE("a stage reached counts no more when drop-outs add up to a release") {
    for (const auto& [last, asks] : {std::pair{9ms, 1U}, std::pair{10ms, 0U}}) {
        Bench bench;
        bench.sample(2s, Level::active);
        bench.sample(3s, Level::inactive);
        bench.sample(3020ms, Level::active);
        bench.advance(5500ms);
        REQUIRE(bench.core.state() == State::ready);
        bench.sample(6s, Level::inactive);
        bench.sample(6s + last, Level::active);
        bench.advance(6500ms);
        CHECK(bench.core.state() == (asks == 1 ? State::ready : State::holding));
        bench.sample(7s, Level::inactive);
        bench.advance(8s);
        CHECK(bench.count<Ask>() == asks);
    }
}

TEST_CASE("an alarm passes over a missing post-halt line, a press does not when told to refuse") {
    Settings settings = one_stage();
    settings.without_post_halt = WithoutPostHalt::refuse;
    settings.alarms = {{.name = "battery low",
                        .inhibitors = Inhibitors::override_them,
                        .lasting = 1s,
                        .at_start = AtStart::count}};
    Bench pressed(settings);
    pressed.core.feed(VerdictKnown{zero, Verdict::absent});
    pressed.sample(2s, Level::active);
    pressed.sample(6s, Level::inactive);
    pressed.advance(6500ms);
    CHECK(pressed.count<Ask>() == 0);
    CHECK(pressed.core.state() == State::refused);
    Bench alarmed(settings);
    alarmed.core.feed(VerdictKnown{zero, Verdict::absent});
    alarmed.core.feed(Resync{zero + 1s, Level::active, ResyncWhy::start, 0, line_of_alarm(0)});
    alarmed.advance(2s);
    REQUIRE(alarmed.count<Ask>() == 1);
    const auto ask = std::find_if(alarmed.actions.begin(), alarmed.actions.end(), [](auto& each) {
        return std::holds_alternative<Ask>(each);
    });
    CHECK(std::get<Ask>(*ask).inhibitors == Inhibitors::override_them);
}

TEST_CASE("the line is tried again with growing pauses, and at once when chips change") {
    Bench bench;
    bench.core.feed(LineGone{zero + 2s});
    CHECK(bench.core.next_deadline() == zero + 3s);
    bench.advance(3s);
    CHECK(bench.count<OpenLine>() == 1);
    bench.core.feed(LineGone{zero + 3s});
    CHECK(bench.core.next_deadline() == zero + 5s);
    bench.core.feed(LineMayBeBack{zero + 4s});
    bench.advance(4s);
    CHECK(bench.count<OpenLine>() == 2);
    bench.core.feed(Resync{zero + 4s, Level::inactive, ResyncWhy::reopened, 0});
    bench.advance(5s);
    CHECK(bench.core.state() == State::rest);
}
