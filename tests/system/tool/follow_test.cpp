// SPDX-License-Identifier: MIT
// `nightlatch follow` before a stand-in service on a bus of the test's own.
#include "follow_stage.hpp"
#include "schema.hpp"

#include <csignal>
#include <fstream>
#include <memory>
#include <sstream>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>
#include <unistd.h>

using namespace nightlatch;
using namespace nightlatch::test;
using namespace std::chrono_literals;
using Catch::Matchers::ContainsSubstring;

namespace {

using Json = nlohmann::json;

FakeShown shown(const std::string& cue, std::uint64_t since, const std::string& stage = "") {
    FakeShown one;
    one.cue = cue;
    one.since = since;
    one.stage = stage;
    return one;
}

std::vector<Json> lines_of(const Process& process) {
    std::vector<Json> all;
    std::istringstream text(process.output());
    for (std::string line; std::getline(text, line);) {
        all.push_back(Json::parse(line, nullptr, false));
    }
    return all;
}

/// What each line is about: "rest", "announced write now", "no service".
std::vector<std::string> told(const Process& process) {
    std::vector<std::string> all;
    for (const Json& line : lines_of(process)) {
        if (line.is_discarded()) {
            all.emplace_back("no JSON");
        } else if (line.contains("cue")) {
            all.push_back(line.value("cue", ""));
        } else if (line.contains("announced")) {
            all.push_back("announced " + line.value("announced", ""));
        } else {
            all.push_back(line.value("why", ""));
        }
    }
    return all;
}

using Strings = std::vector<std::string>;

/// Waits until so many lines are there.
bool await_lines(const FollowStage& stage, const Process& process, std::size_t count) {
    return stage.await([&] { return told(process).size() >= count; });
}

/// `follow --json` before a service of which it has told the first line.
struct Following {
    FollowStage stage;
    FakeService& service = stage.start_bus().start_service();
    std::unique_ptr<Process> follow = stage.tool({"follow", "--json"});

    Following() { REQUIRE(has_lines(1)); }

    [[nodiscard]] bool has_lines(std::size_t count) const {
        return await_lines(stage, *follow, count);
    }
};

}  // namespace

TEST_CASE("follow --json tells the present state at once, then each change, complete by itself",
          "[follow]") {
    Following on;
    FakeShown holding = shown("holding", 84'000'000);
    holding.until = 87'000'000;
    holding.level = "pressed";
    on.service.change(holding);
    REQUIRE(on.has_lines(2));
    FakeShown refused = shown("refused", 90'000'000, "off");
    refused.reason = "locked";
    refused.reason_texts = {{"who", "tide logger"}, {"why", "writing the tide table"}};
    on.service.change(refused);
    REQUIRE(on.has_lines(3));
    CHECK(told(*on.follow) == Strings{"rest", "holding", "refused"});

    const std::vector<Json> lines = lines_of(*on.follow);
    CHECK(lines[0]["until"].is_null());
    CHECK(lines[0]["stage"].is_null());
    CHECK(lines[0]["reason"].is_null());
    CHECK(lines[0]["service"] == "0.9.0");
    CHECK(lines[0]["stages"] ==
          Json::parse(R"([{"name":"off","hold":3000000,"action":"power-off"}])"));
    CHECK(lines[1]["until"] == 87'000'000);
    CHECK(lines[1]["level"] == "pressed");
    CHECK(lines[1]["now"] > lines[0]["now"]);
    CHECK(lines[2]["reason"] ==
          Json::parse(R"({"code":"locked","who":"tide logger","why":"writing the tide table"})"));
    CHECK(lines[2]["stages"] == lines[0]["stages"]);
    CHECK(against_schema("follow", on.follow->output()).empty());
    CHECK(on.service.asked_for_all == 1);
}

TEST_CASE("what the service tells while it is asked is neither lost nor told twice", "[follow]") {
    FollowStage stage;
    FakeService& service = stage.start_bus().start_service();
    service.changes_before_answer = {shown("holding", 1'000'000), shown("ready", 2'000'000, "off")};
    const auto follow = stage.tool({"follow", "--json"});
    REQUIRE(await_lines(stage, *follow, 1));
    service.announce("write now");
    service.change(shown("rest", 3'000'000));
    REQUIRE(await_lines(stage, *follow, 3));
    CHECK(told(*follow) == Strings{"ready", "announced write now", "rest"});
    CHECK(against_schema("follow", follow->output()).empty());
}

TEST_CASE("changes that come at once are each told, in order, an announcement among them",
          "[follow]") {
    Following on;
    Strings expected{"rest"};
    for (std::uint64_t i = 1; i <= 20; ++i) {
        on.service.change(shown(i % 2 == 0 ? "rest" : "holding", i * 1'000'000));
        on.service.announce(std::to_string(i));
        expected.emplace_back(i % 2 == 0 ? "rest" : "holding");
        expected.push_back("announced " + std::to_string(i));
    }
    REQUIRE(on.has_lines(expected.size()));
    CHECK(told(*on.follow) == expected);
}

TEST_CASE("without a bus, and without the service, follow says why and waits for both, again and "
          "again",
          "[follow]") {
    FollowStage stage;
    const auto follow = stage.tool({"follow", "--json"});
    REQUIRE(await_lines(stage, *follow, 1));
    Strings expected{"no bus"};
    for (int i = 0; i < 2; ++i) {
        stage.bus().start();
        REQUIRE(await_lines(stage, *follow, expected.size() + 1));
        stage.start_service();
        REQUIRE(await_lines(stage, *follow, expected.size() + 2));
        stage.end_service();
        REQUIRE(await_lines(stage, *follow, expected.size() + 3));
        stage.start_service(shown("waiting", 5'000'000));
        REQUIRE(await_lines(stage, *follow, expected.size() + 4));
        stage.bus().stop();
        REQUIRE(await_lines(stage, *follow, expected.size() + 5));
        stage.end_service();
        expected.insert(expected.end(), {"no service", "rest", "no service", "waiting", "no bus"});
    }
    CHECK(told(*follow) == expected);
    CHECK(against_schema("follow", follow->output()).empty());
}

TEST_CASE("follow --once tells the present state and ends with 0, without the service with 1",
          "[follow]") {
    FollowStage stage;
    const auto no_bus = stage.tool({"follow", "--once", "--json"}, "no-bus");
    CHECK(stage.ended(*no_bus) == 1);
    CHECK(told(*no_bus) == Strings{"no bus"});
    stage.start_bus();
    const auto nobody = stage.tool({"follow", "--once", "--json"}, "nobody");
    CHECK(stage.ended(*nobody) == 1);
    CHECK(told(*nobody) == Strings{"no service"});
    stage.start_service();
    const auto follow = stage.tool({"follow", "--once", "--json"});
    CHECK(stage.ended(*follow) == 0);
    CHECK(told(*follow) == Strings{"rest"});
    const auto words = stage.tool({"follow", "--once"}, "words");
    CHECK(stage.ended(*words) == 0);
    CHECK(words->output() == "rest: at rest: hold 3 s for off (power-off)\n");
}

TEST_CASE("a service that takes the question and does not answer is told as such", "[follow]") {
    FollowStage stage;
    stage.start_bus().start_service().answers = false;
    const auto follow = stage.tool({"follow", "--once", "--json"});
    CHECK(stage.ended(*follow) == 1);
    CHECK(told(*follow) == Strings{"no answer"});
    CHECK(against_schema("follow", follow->output()).empty());
}

TEST_CASE("the level of a service that does not tell it with a change is unknown", "[follow]") {
    Following on;
    on.service.tells_level = false;
    on.service.change(shown("leaving", 3'000'000, "off"));
    REQUIRE(on.has_lines(2));
    CHECK(lines_of(*on.follow)[0]["level"] == "released");
    CHECK(lines_of(*on.follow)[1]["level"] == "unknown");
}

TEST_CASE("on a terminal one line is written anew, and ticks only while a hold runs", "[follow]") {
    FollowStage stage;
    FakeService& service = stage.start_bus().start_service();
    const std::string screen = stage.desk().path("screen");
    Process terminal({"/usr/bin/script", "-qefc", NIGHTLATCH " follow --end-at leaving", screen},
                     stage.desk().path("out"));
    const auto shows = [&screen](const std::string& text) {
        return content(screen).find(text) != std::string::npos;
    };
    REQUIRE(stage.await([&] { return shows("at rest"); }));
    const auto now = std::chrono::duration_cast<std::chrono::microseconds>(
        stage.loop().now().time_since_epoch());
    FakeShown holding = shown("holding", static_cast<std::uint64_t>(now.count()));
    holding.until = holding.since + 3'000'000;
    service.change(holding);
    // Each of these is told by time alone.
    REQUIRE(stage.await([&] { return shows("held 2.") && shows("[####"); }));
    service.change(shown("rest", 5'000'000));
    service.announce("write now");
    REQUIRE(stage.await([&] { return shows("announced: write now\r\n"); }));
    const std::string before = content(screen);
    const Instant over = stage.loop().now() + 1s;
    REQUIRE(stage.await([&] { return stage.loop().now() >= over; }));
    CHECK(content(screen).size() <= before.size() + 100);  // the line below the announcement
    service.change(shown("leaving", 6'000'000));
    CHECK(stage.ended(terminal) == 0);
    CHECK(std::string_view(before).find("\r\x1b[K") != std::string_view::npos);
}

TEST_CASE("the whole terminal is given back as it was", "[follow]") {
    FollowStage stage;
    FakeService& service = stage.start_bus().start_service();
    const std::string screen = stage.desk().path("screen");
    Process terminal(
        {"/usr/bin/script", "-qefc", NIGHTLATCH " follow --full-screen --end-at leaving", screen},
        stage.desk().path("out"));
    const auto shows = [&screen](const std::string& text) {
        return content(screen).find(text) != std::string::npos;
    };
    REQUIRE(stage.await([&] { return shows("at rest"); }));
    service.change(shown("leaving", 6'000'000));
    CHECK(stage.ended(terminal) == 0);
    CHECK(shows("\x1b[?1049h\x1b[?25l\x1b[H"));
    CHECK(shows("\x1b[J\x1b[?25h\x1b[?1049l"));
    const Ran no_terminal = run_tool("follow --full-screen");
    CHECK(no_terminal.status == 2);
    CHECK_THAT(no_terminal.err, ContainsSubstring("--full-screen needs a terminal"));
}

TEST_CASE("follow --end-at ends with 0 when the cue is shown, and by a signal before with 1",
          "[follow]") {
    FollowStage stage;
    FakeService& service = stage.start_bus().start_service();
    const auto follow = stage.tool({"follow", "--json", "--end-at", "leaving"});
    const auto stopped = stage.tool({"follow", "--json", "--end-at", "leaving"}, "stopped");
    REQUIRE(await_lines(stage, *follow, 1));
    REQUIRE(await_lines(stage, *stopped, 1));
    stopped->signal(SIGTERM);
    CHECK(stage.ended(*stopped) == 1);
    service.change(shown("ready", 1'000'000, "off"));
    REQUIRE(await_lines(stage, *follow, 2));
    CHECK_FALSE(follow->ended());
    service.change(shown("leaving", 2'000'000, "off"));
    CHECK(stage.ended(*follow) == 0);
    CHECK(told(*follow) == Strings{"rest", "ready", "leaving"});
    const auto there = stage.tool({"follow", "--json", "--end-at", "leaving"}, "there");
    CHECK(stage.ended(*there) == 0);
}

TEST_CASE("follow without an end is stopped by a signal, and ends with 0", "[follow]") {
    FollowStage stage;
    stage.start_bus().start_service();
    const auto follow = stage.tool({"follow"});
    REQUIRE(stage.await([&follow] { return follow->said("at rest"); }));
    follow->signal(SIGINT);
    CHECK(stage.ended(*follow) == 0);
}

TEST_CASE("on a pipe a person reads a line for each change that they would see", "[follow]") {
    FollowStage stage;
    FakeService& service = stage.start_bus().start_service();
    const auto follow = stage.tool({"follow"});
    REQUIRE(stage.await([&follow] { return follow->said("at rest"); }));
    FakeShown alarm;
    alarm.alarms = {{"battery low", true}};
    service.change(alarm);
    service.announce("write now\x1b[2J");
    service.change(shown("leaving", 3'000'000, "off"));
    REQUIRE(stage.await([&follow] { return follow->said("leaving: "); }));
    CHECK(follow->output() == "rest: at rest: hold 3 s for off (power-off)\n"
                              "announced: write now\\u001B[2J\n"
                              "leaving: going down: off (power-off)\n");
}

TEST_CASE("a reader that goes away ends follow with 2, with nothing to be told", "[follow]") {
    FollowStage stage;
    stage.start_bus().start_service();
    const std::string fifo = stage.desk().path("lines");
    const std::string said = stage.desk().path("said");
    const std::string status = stage.desk().path("status");
    REQUIRE(std::system(("mkfifo " + fifo).c_str()) == 0);
    Process shell({"/bin/sh",
                   "-c",
                   NIGHTLATCH " follow --json >" + fifo + " 2>" + said + "; echo $? >" + status},
                  stage.desk().path("shell"));
    {
        std::ifstream reader;
        // Opening waits for the writer, which is there before it asks the service for anything.
        reader.open(fifo);
        REQUIRE(stage.await([&] { return stage.service().asked_for_all == 1; }));
        std::string line;
        REQUIRE(std::getline(reader, line));
    }
    CHECK(stage.ended(shell) == 0);
    CHECK(content(status) == "2\n");
    CHECK_THAT(content(said), ContainsSubstring("nobody reads the output any more"));
}

TEST_CASE("a full disk ends follow with 2 and the reason", "[follow]") {
    FollowStage stage;
    stage.start_bus().start_service();
    Process shell({"/bin/sh", "-c", NIGHTLATCH " follow --json >/dev/full"},
                  stage.desk().path("said"));
    CHECK(stage.ended(shell) == 2);
    CHECK_THAT(shell.output(), ContainsSubstring("could not be written: No space left on device"));
}

TEST_CASE("at rest follow is not woken", "[follow]") {
    FollowStage stage;
    FakeService& service = stage.start_bus().start_service();
    Process shell({"/bin/sh", "-c", "echo $$; exec " NIGHTLATCH " follow"},
                  stage.desk().path("out"));
    REQUIRE(stage.await([&shell] { return shell.said("at rest"); }));
    const std::string pid = shell.output().substr(0, shell.output().find('\n'));
    // [proc(5)]: how often it gave the processor up by itself: once for each wait.
    const auto waits = [&pid] {
        const std::string text = content("/proc/" + pid + "/status");
        return text.substr(text.find("\nvoluntary_ctxt_switches"));
    };
    const auto sleeps = [&pid] {
        return content("/proc/" + pid + "/status").find("State:\tS") != std::string::npos;
    };
    REQUIRE(stage.await(sleeps));
    const std::string before = waits();
    const Instant over = stage.loop().now() + 2s;
    REQUIRE(stage.await([&] { return stage.loop().now() >= over; }));
    CHECK(waits() == before);
    service.change(shown("leaving", 3'000'000));
    REQUIRE(stage.await([&shell] { return shell.said("going down"); }));
    CHECK(waits() != before);
}
