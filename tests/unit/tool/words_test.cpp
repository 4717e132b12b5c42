// SPDX-License-Identifier: MIT
#include "base/text.hpp"
#include "core/cue.hpp"
#include "daemon/tool/call_off/call_off.hpp"
#include "daemon/tool/client/state_json.hpp"
#include "daemon/tool/client/words.hpp"
#include "daemon/tool/follow/screen.hpp"
#include "support/hostile.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>
#include <set>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::tool;
using namespace std::chrono_literals;
using Catch::Matchers::ContainsSubstring;

namespace {

ServiceState pontoon(const std::string& cue, const std::string& stage = "") {
    ServiceState state;
    state.cue = cue;
    state.since = Instant{10s};
    state.stage = stage;
    state.stages = {{"write now", 1s, "announce"}, {"off", 3s, "power-off"}};
    return state;
}

std::string words(const ServiceState& state) {
    return cue_words(state, Instant{11250ms});
}

ServiceState moving(const std::string& cue, const std::string& stage, Instant until) {
    ServiceState state = pontoon(cue, stage);
    state.until = until;
    return state;
}

}  // namespace

TEST_CASE("each cue has its words, and an unknown one is something else", "[words]") {
    CHECK(words(pontoon("rest")) ==
          "at rest: hold 1 s for write now (announce), 3 s for off (power-off)");
    CHECK(words(moving("holding", "", Instant{12s})) ==
          "held 1.2 s: letting go now does nothing; in 0.8 s write now (announce)");
    CHECK(words(moving("ready", "write now", Instant{13s})) ==
          "let go now for write now (announce); in 1.8 s off (power-off)");
    CHECK(words(pontoon("ready", "off")) == "let go now for off (power-off)");
    CHECK(words(moving("countdown", "off", Instant{15s})) ==
          "off (power-off) in 3.8 s: press and stay on the button, or `nightlatch call-off`, to "
          "call it off");
    CHECK(words(pontoon("leaving", "off")) == "going down: off (power-off)");
    CHECK(words(pontoon("leaving")) == "going down");
    CHECK(words(pontoon("tide")) == "something else: \"tide\"");
    for (const core::CueName cue : core::all_cues) {
        INFO(core::text_of(cue));
        CHECK_THAT(words(pontoon(std::string(core::text_of(cue)))),
                   !ContainsSubstring("something else"));
    }
}

TEST_CASE("what is left of a hold is never nothing before it is over", "[words]") {
    const ServiceState state = moving("holding", "", Instant{12s});
    CHECK_THAT(cue_words(state, Instant{12s} - 1ns), ContainsSubstring("in 0.1 s"));
    CHECK_THAT(cue_words(state, Instant{12s} - 100ms), ContainsSubstring("in 0.1 s"));
    CHECK_THAT(cue_words(state, Instant{12s} - 101ms), ContainsSubstring("in 0.2 s"));
}

TEST_CASE("a reason is its code's sentence and what goes with it", "[words]") {
    CHECK(reason_words({}).empty());
    ReasonSeen locked{"locked"};
    locked.who = "tide logger";
    locked.why = "writing the tide table";
    locked.text = "the same over again";
    CHECK(reason_words(locked) ==
          "a lock of another program is in the way: tide logger, writing the tide table");
    ReasonSeen lost{"line-lost"};
    lost.error = 19;  // ENODEV [errno(3)]
    CHECK(reason_words(lost) == "the button's line is gone: No such device");
    lost.text = "the chip vanished";
    CHECK(reason_words(lost) == "the button's line is gone: the chip vanished");
    ReasonSeen noise{"line-unreadable"};
    noise.rate = 2100;
    CHECK_THAT(reason_words(noise), ContainsSubstring("2,100 edges in a second"));
    ReasonSeen alarm{"alarm"};
    alarm.alarm = "battery low";
    CHECK(reason_words(alarm) == "an alarm asked for it: battery low");
    CHECK(reason_words({"tide"}) == "something else");
}

TEST_CASE("the manual has each reason code with our sentence, and no other", "[words]") {
    std::ifstream file(TREE "/daemon/tool/follow/nightlatch-follow.1");
    std::string page{std::istreambuf_iterator<char>(file), {}};
    std::erase(page, '\\');
    const std::size_t begin = page.find("\n.SH \"REASON CODES\"\n");
    REQUIRE(begin != std::string::npos);
    const std::string section = page.substr(begin, page.find("\n.SH ENVIRONMENT\n") - begin);
    std::size_t entries = 0;
    for (std::size_t at = 0; (at = section.find("\n.TP\n", at)) != std::string::npos; ++at) {
        ++entries;
    }
    CHECK(entries == reason_codes().size());
    for (const ReasonCode& one : reason_codes()) {
        std::string sentence(one.sentence);
        sentence.front() = static_cast<char>(std::toupper(sentence.front()));
        CHECK_THAT(section,
                   ContainsSubstring("\n.TP\n.B " + std::string(one.code) + "\n" + sentence));
    }
}

TEST_CASE("a dry run, a missing service and an announcement are told as such", "[words]") {
    ServiceState state = pontoon("leaving", "off");
    state.dry = true;
    CHECK(words(state) == "going down: off (power-off) (dry run)");
    CHECK(absent_words(Absent::no_service, "") == "the service is not running");
    CHECK(absent_words(Absent::no_bus, "gone") == "there is no system bus (gone)");
    CHECK(announced_words("write now") == "announced: write now");
}

TEST_CASE("a bar is as long as it should be, empty at 0 and full at 1", "[words]") {
    CHECK(bar(0, 12) == "[----------]");
    CHECK(bar(0.55, 12) == "[#####-----]");
    CHECK(bar(1, 12) == "[##########]");
    CHECK(bar(7, 12) == "[##########]");
    CHECK(bar(-1, 1) == "[-]");
}

TEST_CASE("no name from elsewhere steers the terminal", "[words]") {
    test::HostileNames names(test::seed_for("words of a hostile service"));
    for (int i = 0; i < 500; ++i) {
        ServiceState state =
            moving(i % 2 == 0 ? "ready" : names.next_string(), names.next_string(), Instant{12s});
        state.stages = {{names.next_string(), 1s, names.next_string()}, {state.stage, 3s, "x"}};
        state.reason = {names.next_string()};
        state.reason.who = names.next_string();
        state.reason.text = names.next_string();
        const Sight sight = sight_of(state, Instant{11s});
        CHECK(is_safe(plain_line(sight)));
        CHECK(is_safe(live_line(sight, {}, 60)));
        CHECK(is_safe(announced_words(names.next_string())));
        CHECK(is_safe(absent_words(Absent::silent, names.next_string())));
        CHECK(is_safe(call_off_refusal("x", names.next_string())));
    }
}

TEST_CASE("a line fits the terminal, to the character", "[screen]") {
    CHECK(cut("Ponton ä", 8) == "Ponton ä");
    CHECK(cut("Ponton ää", 8) == "Ponton …");
    CHECK(cut("tide", 0).empty());
    const Sight sight = sight_of(moving("holding", "", Instant{12s}), Instant{11s});
    CHECK(sight.moving);
    CHECK(sight.part == 0.5);
    for (const unsigned columns : {1U, 10U, 11U, 20U, 40U, 79U, 200U}) {
        INFO(columns);
        const std::string line = live_line(sight, {}, columns);
        // Characters: what is not a first byte of one does not count.
        const auto width =
            std::count_if(line.begin(), line.end(), [](char c) { return (c & 0xC0) != 0x80; });
        CHECK(static_cast<std::size_t>(width) <= columns);
    }
    CHECK(live_line(sight, {}, 45) == "holding    [##########----------] held 1.0 s…");
}

TEST_CASE("the whole terminal has no more lines than it has rows", "[screen]") {
    const Sight sight = sight_of(moving("countdown", "off", Instant{15s}), Instant{11s});
    for (const TerminalSize size :
         {TerminalSize{1, 20}, TerminalSize{4, 16}, TerminalSize{24, 80}}) {
        const std::string text = full_screen(sight, {}, size);
        INFO(size.rows);
        CHECK(text.starts_with("\x1b[H"));
        CHECK(text.ends_with("\x1b[J"));
        const auto lines = std::count(text.begin(), text.end(), '\n');
        CHECK(static_cast<std::size_t>(lines) < size.rows);
        CHECK_THAT(text, ContainsSubstring("countdown"));
    }
}

TEST_CASE("a line for programs is one line, whatever is in it", "[follow-json]") {
    ServiceState state = pontoon("refused", "off");
    state.reason = {"refused"};
    state.reason.text = "two\nlines \"quoted\"";
    const std::string line = follow_line(state, Instant{81234567us});
    CHECK(std::count(line.begin(), line.end(), '\n') == 1);
    CHECK(line.ends_with("}\n"));
    CHECK(line.starts_with(R"({"format":"nightlatch-follow","version":1,"now":81234567,)"
                           R"("running":true,"cue":"refused","since":10000000,"until":null,)"
                           R"("stage":"off",)"));
    CHECK_THAT(line,
               ContainsSubstring(R"("reason":{"code":"refused","text":"two\nlines \"quoted\""})"));
    CHECK(follow_line("write now", Instant{1s}) ==
          "{\"format\":\"nightlatch-follow\",\"version\":1,\"now\":1000000,\"running\":true,"
          "\"announced\":\"write now\"}\n");
    CHECK(follow_line(Absent::no_bus, Instant{1s}) ==
          "{\"format\":\"nightlatch-follow\",\"version\":1,\"now\":1000000,\"running\":false,"
          "\"why\":\"no bus\"}\n");
}
