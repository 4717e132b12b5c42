// SPDX-License-Identifier: MIT
// What is published, as it follows from what happens to the real App on a simulated chip.
#include "supervisor/publisher.hpp"
#include "support/virtual_board.hpp"

#include <functional>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::testing;
using core::AnswerKind;
using core::BeingPrepared;
using core::CueName;
using core::GoingDownKind;
using supervisor::OnDisk;
using supervisor::Property;
using supervisor::Published;
using supervisor::PublishedAlarm;
using supervisor::Publisher;
using supervisor::Reason;
using supervisor::ReasonCode;

namespace {

using Events = std::vector<rehearsal::ScriptEvent>;
using Properties = std::vector<Property>;

constexpr const char* path = "/etc/nightlatch/nightlatch.toml";

Events one_hold(Duration at, Duration length) {
    return {moves(at, Level::active), moves(at + length, Level::inactive)};
}

config::Settings two_stages() {
    config::Settings settings = pontoon_settings();
    settings.core.stages = {{"write \"now\"", 1s, core::Action::announce},
                            {"off", 3s, core::Action::power_off}};
    return settings;
}

config::Settings with_battery(core::Action action = core::Action::power_off) {
    config::Settings settings = pontoon_settings();
    settings.core.alarms = {{.name = "battery low", .action = action, .lasting = 10s}};
    settings.alarm_lines = {{{"soc-gpio", "BATTERY_LOW"}, true, lines::Bias::pull_up}};
    return settings;
}

/// A board that is followed; its battery's level is there from `battery` on, for `low`.
struct Followed {
    Publisher publisher{{path, false, "9.8.7"}};
    VirtualBoard board;

    Followed(const config::Settings& settings,
             Events button,
             std::optional<Duration> battery = std::nullopt,
             Duration low = 3600s)
        : board(settings,
                std::move(button),
                Level::inactive,
                {{&publisher}, false, alarm_scripts(battery, low), {}}) {}

    /// A hold of 3.2 s at 1 s has been decided.
    Followed() : Followed(pontoon_settings(), one_hold(1s, 3200ms)) { board.run_to(5s); }

    static std::vector<rehearsal::PressScript> alarm_scripts(std::optional<Duration> at,
                                                             Duration low) {
        if (!at) {
            return {};
        }
        return {{Level::inactive, one_hold(*at, low), 0s}};
    }

    [[nodiscard]] const Published& now() const { return publisher.now(); }

    [[nodiscard]] Instant at(Duration since_start) const {
        return board.line.start() + since_start;
    }

    void answer(AnswerKind kind, const ports::Said& said = {}) {
        board.app.answered(board.power.request, kind, said);
    }
};

std::optional<ReasonCode> code(const Followed& followed) {
    const auto& reason = followed.now().reason;
    return reason ? std::optional(reason->code) : std::nullopt;
}

}  // namespace

TEST_CASE("a hold is published from its begin, with what comes next and when") {
    Followed followed(two_stages(), one_hold(5s, 3500ms));
    followed.board.run_to(4s);
    CHECK(followed.now().cue == CueName::rest);
    CHECK(followed.now().until == never);
    CHECK(followed.now().stage.empty());
    CHECK(followed.now().stages == two_stages().core.stages);
    followed.board.run_to(5500ms);
    CHECK(followed.now().cue == CueName::holding);
    CHECK(followed.now().since == followed.at(5s));
    CHECK(followed.now().until == followed.at(6s));
    CHECK(followed.now().stage.empty());
    followed.board.run_to(6500ms);
    CHECK(followed.now().cue == CueName::ready);
    CHECK(followed.now().since == followed.at(6s));
    CHECK(followed.now().until == followed.at(8s));
    CHECK(followed.now().stage == "write \"now\"");
    followed.board.run_to(8400ms);
    CHECK(followed.now().until == never);
    CHECK(followed.now().stage == "off");
    followed.board.run_to(9s);
    CHECK(followed.now().cue == CueName::leaving);
    CHECK(followed.now().reason == Reason{.code = ReasonCode::asked});
    CHECK(followed.now().stage == "off");
}

TEST_CASE("a countdown is published with its end") {
    config::Settings settings = pontoon_settings();
    settings.core.grace = 7s;
    Followed followed(settings, one_hold(1s, 3200ms));
    followed.board.run_to(5s);
    CHECK(followed.now().cue == CueName::countdown);
    CHECK(followed.now().until - followed.now().since == 7s);
    CHECK(followed.now().stage == "off");
    followed.board.app.call_off();
    CHECK(followed.now().cue == CueName::rest);
    CHECK(followed.now().stage.empty());
    CHECK(followed.now().until == never);
}

// One row a case: what happens after a hold was decided, and what is published of it.
TEST_CASE("why the cue is what it is, is published as a code with what is known") {
    struct Case {
        const char* what;
        std::function<void(Followed&)> happens;
        CueName cue;
        std::optional<Reason> reason;
    };

    const ports::Blocker logger{"tide logger", "writing the tide table"};
    const auto wait = [](Duration until) {
        return [until](Followed& on) { on.board.run_to(until); };
    };
    const auto accepted_then = [](BeingPrepared answer) {
        return [answer](Followed& on) {
            on.answer(AnswerKind::accepted);
            on.board.run_to(36s);
            on.board.prepares(answer);
        };
    };
    const std::vector<Case> cases{
        {"asked", [](Followed&) {}, CueName::leaving, Reason{.code = ReasonCode::asked}},
        {"accepted",
         [](Followed& on) { on.answer(AnswerKind::accepted); },
         CueName::leaving,
         Reason{.code = ReasonCode::asked}},
        {"a lock",
         [&](Followed& on) {
             on.answer(AnswerKind::refused, {"blocked by it", logger});
         },
         CueName::refused,
         Reason{.code = ReasonCode::locked, .blocker = logger, .text = "blocked by it"}},
        {"a lock without a name",
         [](Followed& on) {
             on.answer(AnswerKind::refused, {"blocked", ports::Blocker{}});
         },
         CueName::refused,
         Reason{.code = ReasonCode::locked, .blocker = ports::Blocker{}, .text = "blocked"}},
        {"the policy",
         [](Followed& on) { on.answer(AnswerKind::refused, {"not permitted"}); },
         CueName::refused,
         Reason{.code = ReasonCode::refused, .text = "not permitted"}},
        {"no answer", wait(36s), CueName::leaving, Reason{.code = ReasonCode::no_answer}},
        {"the login manager goes",
         [](Followed& on) { on.board.app.login_manager(false); },
         CueName::leaving,
         Reason{.code = ReasonCode::no_answer}},
        {"a late acceptance",
         [](Followed& on) {
             on.board.run_to(36s);
             on.answer(AnswerKind::accepted);
         },
         CueName::leaving,
         Reason{.code = ReasonCode::asked}},
        {"given up", wait(125s), CueName::refused, Reason{.code = ReasonCode::given_up}},
        {"nothing came",
         accepted_then(BeingPrepared::no),
         CueName::refused,
         Reason{.code = ReasonCode::nothing_came}},
        {"nobody says whether anything comes",
         accepted_then(BeingPrepared::cannot_tell),
         CueName::leaving,
         Reason{.code = ReasonCode::no_answer}},
        {"the second route led to nothing",
         [](Followed& on) {
             on.answer(AnswerKind::taken_up, {"by the second route"});
             on.board.run_to(306s);
         },
         CueName::refused,
         Reason{.code = ReasonCode::nothing_came}},
        {"its successor prepares nothing",
         [](Followed& on) {
             on.board.app.login_manager(false);
             on.board.app.login_manager(true);
             on.board.prepares(BeingPrepared::no);
         },
         CueName::refused,
         Reason{.code = ReasonCode::nothing_came}},
        {"our shutdown",
         [](Followed& on) { on.board.app.going_down(true, GoingDownKind::power_off); },
         CueName::leaving,
         Reason{.code = ReasonCode::asked}},
        {"our shutdown, given up",
         [](Followed& on) {
             on.board.app.going_down(true, GoingDownKind::power_off);
             on.board.app.going_down(false, GoingDownKind::unknown);
         },
         CueName::refused,
         Reason{.code = ReasonCode::failed}},
        {"our shutdown, given up, then why",
         [](Followed& on) {
             on.board.app.going_down(true, GoingDownKind::power_off);
             on.board.app.going_down(false, GoingDownKind::unknown);
             on.answer(AnswerKind::refused, {"Unit poweroff.target is masked"});
         },
         CueName::refused,
         Reason{.code = ReasonCode::failed, .text = "Unit poweroff.target is masked"}},
        {"our shutdown, why, then given up",
         [](Followed& on) {
             on.board.app.going_down(true, GoingDownKind::power_off);
             on.answer(AnswerKind::refused, {"Unit poweroff.target is masked"});
             on.board.app.going_down(false, GoingDownKind::unknown);
         },
         CueName::refused,
         Reason{.code = ReasonCode::failed, .text = "Unit poweroff.target is masked"}},
        {"our request failed, and somebody's shutdown goes on",
         [](Followed& on) {
             on.board.app.going_down(true, GoingDownKind::power_off);
             on.answer(AnswerKind::refused, {"not permitted"});
             on.board.prepares(BeingPrepared::yes);
         },
         CueName::leaving,
         Reason{.code = ReasonCode::other_shutdown}},
        {"nobody tells of our shutdown for half an hour",
         [](Followed& on) {
             on.board.app.going_down(true, GoingDownKind::power_off);
             on.board.run_to(1812s);
         },
         CueName::refused,
         Reason{.code = ReasonCode::failed}},
        {"a dry run",
         [](Followed& on) { on.answer(AnswerKind::would_do); },
         CueName::leaving,
         Reason{.code = ReasonCode::dry}},
        {"a dry run is over",
         [](Followed& on) {
             on.answer(AnswerKind::would_do);
             on.board.run_to(11s);
         },
         CueName::rest,
         std::nullopt},
        {"somebody's shutdown after a refusal",
         [](Followed& on) {
             on.answer(AnswerKind::refused, {"not permitted"});
             on.board.app.going_down(true, GoingDownKind::reboot);
         },
         CueName::leaving,
         Reason{.code = ReasonCode::other_shutdown}},
        {"a refusal has been shown",
         [](Followed& on) {
             on.answer(AnswerKind::refused, {"not permitted"});
             on.board.run_to(11s);
         },
         CueName::rest,
         std::nullopt},
    };
    for (const Case& one : cases) {
        INFO(one.what);
        Followed followed;
        one.happens(followed);
        CHECK(followed.now().cue == one.cue);
        CHECK(followed.now().reason == one.reason);
    }
}

TEST_CASE("a request that the bus does not take is published as not sent") {
    Followed followed(pontoon_settings(), one_hold(1s, 3200ms));
    followed.board.bus_hangs = true;
    followed.board.run_to(30s);
    CHECK(code(followed) == ReasonCode::asked);
    followed.board.run_to(35s);
    CHECK(followed.now().cue == CueName::refused);
    CHECK(code(followed) == ReasonCode::not_sent);
    CHECK(followed.now().stage == "off");
}

TEST_CASE("a shutdown before our request was sent is somebody else's, and no stage's") {
    Followed followed(pontoon_settings(), one_hold(1s, 3200ms));
    followed.board.bus_hangs = true;
    followed.board.run_to(5s);
    followed.board.app.going_down(true, GoingDownKind::power_off);
    CHECK(code(followed) == ReasonCode::other_shutdown);
    CHECK(followed.now().stage.empty());
}

TEST_CASE("a power-off that is refused for the post-halt line says so, and the verdict is there") {
    config::Settings settings = pontoon_settings();
    settings.core.without_post_halt = core::WithoutPostHalt::refuse;
    Followed followed(settings, one_hold(1s, 3200ms));
    CHECK(followed.now().post_halt == core::Verdict::cannot_tell);
    followed.board.post_halt.report = {core::Verdict::absent, "no node is compatible"};
    followed.board.run_to(5s);
    CHECK(followed.now().post_halt == core::Verdict::absent);
    CHECK(followed.now().reason ==
          Reason{.code = ReasonCode::no_post_halt, .text = "no node is compatible"});
}

TEST_CASE("a stuck button is published as that") {
    Followed followed(pontoon_settings(), one_hold(1s, 100s));
    followed.board.run_to(40s);
    CHECK(followed.now().cue == CueName::stuck);
    CHECK(followed.now().reason == Reason{.code = ReasonCode::stuck});
    CHECK(followed.now().stage.empty());
}

TEST_CASE("a line that vanishes is published with why, and that it is watched again") {
    Followed followed(
        pontoon_settings(),
        {{2s, rehearsal::ChipFault::vanish}, {60s, rehearsal::ChipFault::comes_back}});
    followed.board.run_to(1s);
    CHECK(followed.now().line.watching);
    CHECK(followed.now().line.where == pontoon_settings().button.where);
    followed.board.run_to(4s);
    CHECK_FALSE(followed.now().line.watching);
    CHECK(followed.now().cue == CueName::fault);
    CHECK(followed.now().until == never);
    REQUIRE(followed.now().reason);
    CHECK(followed.now().reason->code == ReasonCode::line_lost);
    CHECK(followed.now().reason->text.find("simulated chip") != std::string::npos);
    followed.publisher.take_changes();
    followed.board.run_to(59s);  // it is tried again and again
    CHECK(followed.publisher.take_changes().empty());
    followed.board.run_to(61s);
    CHECK(followed.now().line.watching);
    CHECK_FALSE(followed.now().reason);
}

TEST_CASE("the errno of a lost line is published where there is one") {
    Publisher publisher({path, false, "9.8.7"});
    const lines::LineName where{"soc-gpio", "FRONT_BUTTON"};
    const core::Cue fault{core::CueName::fault, core::State::fault};
    publisher.happened({{}, supervisor::CueShown{fault}});
    publisher.happened({{}, supervisor::LineLost{where, {Trouble::busy, "in use", 16}}});
    CHECK(publisher.now().reason ==
          Reason{.code = ReasonCode::line_lost, .text = "in use", .error = 16});
    publisher.happened({{}, supervisor::LineLost{where, {Trouble::no_chip, "no chip"}}});
    CHECK(publisher.now().reason == Reason{.code = ReasonCode::line_lost, .text = "no chip"});
    supervisor::LineLost alarms{where, {Trouble::busy, "in use by the pump", 16}};
    alarms.line = 1;
    publisher.happened({{}, alarms});
    CHECK(publisher.now().reason->text == "no chip");
}

TEST_CASE("a floating line is published with its rate, also when it is found so again") {
    Events storm;
    for (unsigned i = 0; i < 40'000; ++i) {
        storm.push_back(moves(1s + i * 250us, i % 2 == 0 ? Level::active : Level::inactive));
    }
    Followed followed(pontoon_settings(), std::move(storm));
    Duration at = 0s;
    const auto comes_to_be = [&](const std::function<bool()>& so) {
        for (const Duration end = at + 5s; at < end && !so(); at += 10ms) {
            followed.board.run_to(at);
        }
        return so();
    };
    const auto unreadable = [&] { return code(followed) == ReasonCode::line_unreadable; };
    const auto watched = [&] { return followed.now().line.watching; };
    REQUIRE(comes_to_be(unreadable));
    CHECK(followed.now().reason->rate >= 2000U);
    CHECK_FALSE(watched());
    REQUIRE(comes_to_be(watched));
    CHECK_FALSE(unreadable());
    REQUIRE(comes_to_be(unreadable));
    CHECK_FALSE(watched());
}

TEST_CASE("an alarm is published while it is due, and as what asks") {
    Followed followed(with_battery(), {}, 5s, 60s);
    CHECK(followed.now().alarms == std::vector<PublishedAlarm>{{"battery low", false}});
    followed.board.run_to(16s);
    CHECK(followed.now().alarms == std::vector<PublishedAlarm>{{"battery low", true}});
    CHECK(followed.now().reason == Reason{.code = ReasonCode::alarm, .alarm = "battery low"});
    CHECK(followed.now().stage.empty());
    followed.answer(AnswerKind::refused, {"not permitted"});
    CHECK(followed.now().reason ==
          Reason{.code = ReasonCode::refused, .alarm = "battery low", .text = "not permitted"});
    followed.board.run_to(64s);
    CHECK(followed.now().alarms[0].due);
    followed.board.run_to(80s);
    CHECK_FALSE(followed.now().alarms[0].due);
}

TEST_CASE("an alarm that waits for what is under way is due") {
    Followed followed(with_battery(), one_hold(1s, 3200ms), 5s);
    followed.board.run_to(14s);
    CHECK_FALSE(followed.now().alarms[0].due);
    followed.board.run_to(16s);
    CHECK(followed.now().alarms[0].due);
    CHECK(followed.now().reason == Reason{.code = ReasonCode::asked});
}

TEST_CASE("an alarm that comes while a stage is reached takes the stage away") {
    Followed followed(with_battery(), one_hold(10s, 20s), 5s);
    followed.board.run_to(14500ms);
    CHECK(followed.now().stage == "off");
    followed.board.run_to(16s);
    CHECK(code(followed) == ReasonCode::alarm);
    CHECK(followed.now().stage.empty());
}

TEST_CASE("an alarm that is only announced is due and changes nothing else") {
    Followed followed(with_battery(core::Action::announce), {}, 5s);
    followed.board.run_to(2s);
    followed.publisher.take_changes();
    followed.board.run_to(16s);
    CHECK(followed.publisher.take_changes() == Properties{Property::alarms});
}

TEST_CASE("a reload publishes what is in force now, and an alarm that keeps its name stays due") {
    Followed followed(with_battery(core::Action::announce), {}, 5s);
    followed.board.run_to(16s);
    followed.publisher.take_changes();
    config::Settings other = with_battery(core::Action::announce);
    other.core.stages = two_stages().core.stages;
    other.button.where.line = "LID_BUTTON";
    const Instant loaded = followed.now().configuration.loaded;
    followed.board.reload(other);
    CHECK(followed.now().stages == other.core.stages);
    CHECK(followed.now().line.where.line == "LID_BUTTON");
    CHECK(followed.now().alarms == std::vector<PublishedAlarm>{{"battery low", true}});
    CHECK(followed.now().configuration.loaded > loaded);
    CHECK(followed.publisher.take_changes() == Properties{Property::cue,
                                                          Property::since,
                                                          Property::stages,
                                                          Property::line,
                                                          Property::configuration});
    other.core.alarms[0].name = "water inside";
    followed.board.reload(other);
    CHECK(followed.now().alarms == std::vector<PublishedAlarm>{{"water inside", false}});
}

TEST_CASE("how the file stands is published with what is wrong with it") {
    Followed followed;
    CHECK(followed.now().configuration.path == path);
    CHECK(followed.now().configuration.on_disk == OnDisk::same);
    CHECK(followed.now().version == "9.8.7");
    CHECK_FALSE(followed.now().dry);
    followed.publisher.take_changes();
    followed.publisher.on_disk(OnDisk::bad, "nightlatch.toml:3: no such key");
    CHECK(followed.publisher.take_changes() == Properties{Property::configuration});
    followed.publisher.on_disk(OnDisk::bad, "nightlatch.toml:3: no such key");
    CHECK(followed.publisher.take_changes().empty());
    CHECK(followed.now().configuration.trouble == "nightlatch.toml:3: no such key");
}

TEST_CASE("what changes together is told together, once") {
    Followed followed(two_stages(), one_hold(5s, 1500ms));
    followed.board.run_to(4s);
    CHECK_FALSE(followed.publisher.take_changes().empty());
    CHECK(followed.publisher.take_changes().empty());
    followed.board.run_to(5500ms);
    CHECK(followed.publisher.take_changes() ==
          Properties{Property::cue, Property::since, Property::until});
    followed.board.run_to(6200ms);
    CHECK(followed.publisher.take_changes() ==
          Properties{Property::cue, Property::since, Property::until, Property::stage});
    followed.board.run_to(8s);
    CHECK(followed.publisher.take_changes() ==
          Properties{Property::cue, Property::since, Property::until, Property::stage});
    followed.board.answered(AnswerKind::refused);  // of no request
    CHECK(followed.publisher.take_changes().empty());
}

TEST_CASE("a refusal told again counts its five seconds anew") {
    Followed followed;
    followed.board.app.going_down(true, GoingDownKind::power_off);
    followed.board.app.going_down(false, GoingDownKind::unknown);
    CHECK(followed.now().until == followed.at(10s));
    followed.publisher.take_changes();
    followed.board.run_to(8s);
    followed.answer(AnswerKind::refused, {"Unit poweroff.target is masked"});
    CHECK(followed.now().until == followed.at(13s));
    CHECK(followed.publisher.take_changes() ==
          Properties{Property::until, Property::reason_details});
}

TEST_CASE("edges that lead to nothing touch nothing that is published") {
    Events glitches;
    for (unsigned i = 0; i < 100; ++i) {
        glitches.push_back(moves(1s + i * 150ms, Level::active));
        glitches.push_back(moves(1s + i * 150ms + 1ms, Level::inactive));
    }
    Followed followed(pontoon_settings(), std::move(glitches));
    followed.board.run_to(900ms);
    followed.publisher.take_changes();
    const std::uint64_t woken = followed.board.wakes;
    followed.board.run_to(30s);
    CHECK(followed.board.wakes > woken + 100);
    CHECK_FALSE(followed.publisher.touched());
}

TEST_CASE("every reason has a word of its own") {
    std::vector<std::string> words;
    for (const ReasonCode one : supervisor::all_reason_codes) {
        const std::string word(supervisor::text_of(one));
        CHECK(std::find(words.begin(), words.end(), word) == words.end());
        words.push_back(word);
    }
    CHECK(words.size() == 15);
}
