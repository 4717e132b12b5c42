// SPDX-License-Identifier: MIT
// `nightlatch follow --run`: when the program is run, with what, and how a run ends.
#include "follow_stage.hpp"
#include "schema.hpp"

#include <algorithm>
#include <csignal>
#include <filesystem>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>

using namespace nightlatch;
using namespace nightlatch::test;
using Catch::Matchers::ContainsSubstring;

namespace {

FakeShown cue(const std::string& name, std::uint64_t since, const std::string& stage = "") {
    FakeShown one;
    one.cue = name;
    one.since = since;
    one.stage = stage;
    return one;
}

/// The program's own account of its runs: a line at the begin of each, and whatever it adds.
std::string account(const FollowStage& stage) {
    return content(stage.desk().path("account"));
}

std::ptrdiff_t count(const std::string& text, char c) {
    return std::count(text.begin(), text.end(), c);
}

/// `nightlatch follow OPTIONS --run sh -c SCRIPT`, $account in the script is the account's file.
std::unique_ptr<Process> run_hook(FollowStage& stage,
                                  const std::string& script,
                                  std::vector<std::string> options = {}) {
    options.insert(options.begin(), "follow");
    options.insert(
        options.end(),
        {"--run", "sh", "-c", "account=" + stage.desk().path("account") + "; " + script});
    return stage.tool(options);
}

/// Ends with the test's leave: when the file is there. Waits on a FIFO, and asks nobody again.
std::string wait_for_leave(const FollowStage& stage) {
    const std::string fifo = stage.desk().path("leave");
    REQUIRE(std::system(("mkfifo " + fifo).c_str()) == 0);
    return "read leave <" + fifo + "; ";
}

void give_leave(const FollowStage& stage) {
    write(stage.desk().path("leave"), "go\n");
}

}  // namespace

TEST_CASE("the program is run for the present cue and for each that comes, and finds it in its "
          "environment",
          "[follow][hook]") {
    FollowStage stage;
    FakeService& service = stage.start_bus().start_service();
    const auto follow =
        run_hook(stage,
                 "echo \"$NIGHTLATCH_CUE/$NIGHTLATCH_STAGE/$NIGHTLATCH_SINCE/"
                 "$NIGHTLATCH_UNTIL/$NIGHTLATCH_REASON/$NIGHTLATCH_DRY\" >>$account");
    REQUIRE(stage.await([&] { return count(account(stage), '\n') == 1; }));
    FakeShown ready = cue("ready", 2'000'000, "off");
    ready.until = 5'000'000;
    service.change(ready);
    REQUIRE(stage.await([&] { return count(account(stage), '\n') == 2; }));
    FakeShown refused = cue("refused", 3'000'000, "off");
    refused.reason = "locked";
    service.change(refused);
    REQUIRE(stage.await([&] { return count(account(stage), '\n') == 3; }));
    CHECK(account(stage) == "rest//81000000///0\n"
                            "ready/off/2000000/5000000//0\n"
                            "refused/off/3000000//locked/0\n");
    CHECK(follow->output().empty());
}

TEST_CASE("what is not a change of the cue runs nothing", "[follow][hook]") {
    FollowStage stage;
    FakeService& service = stage.start_bus().start_service();
    const auto follow = run_hook(stage, "echo $NIGHTLATCH_CUE >>$account");
    REQUIRE(stage.await([&] { return account(stage) == "rest\n"; }));
    FakeShown alarm;
    alarm.alarms = {{"battery low", true}};
    service.change(alarm);
    service.change(cue("leaving", 3'000'000));
    REQUIRE(stage.await([&] { return account(stage).find("leaving") != std::string::npos; }));
    CHECK(account(stage) == "rest\nleaving\n");
}

TEST_CASE("the program reads the JSON line on its standard input, and may leave it unread",
          "[follow][hook]") {
    FollowStage stage;
    stage.start_bus().start_service();
    const auto follow = run_hook(stage, "cat >>$account", {"--once"});
    CHECK(stage.ended(*follow) == 0);
    CHECK(against_schema("follow", account(stage)).empty());
    CHECK(nlohmann::json::parse(account(stage), nullptr, false)["cue"] == "rest");
}

TEST_CASE(
    "never two runs at once: of the cues meanwhile the latest is run for, and no announcement "
    "is lost",
    "[follow][hook]") {
    FollowStage stage;
    FakeService& service = stage.start_bus().start_service();
    const std::string wait = wait_for_leave(stage);
    const auto follow = run_hook(stage,
                                 "echo begin $NIGHTLATCH_CUE$NIGHTLATCH_ANNOUNCED >>$account; " +
                                     wait + "echo end >>$account");
    REQUIRE(stage.await([&] { return account(stage) == "begin rest\n"; }));
    // All of it arrives before the program may end.
    service.change(cue("holding", 1'000'000));
    service.announce("write now");
    service.change(cue("ready", 2'000'000, "off"));
    service.announce("start again");
    service.change(cue("stuck", 3'000'000));
    service.ask_who_heard_all();
    REQUIRE(stage.await([&service] { return service.heard_all == 1; }));
    for (int i = 1; i <= 4; ++i) {
        REQUIRE(stage.await([&] { return count(account(stage), 'b') == i; }));
        give_leave(stage);
    }
    REQUIRE(stage.await([&] { return account(stage).ends_with("begin stuck\nend\n"); }));
    CHECK(account(stage) == "begin rest\nend\nbegin write now\nend\nbegin start again\nend\n"
                            "begin stuck\nend\n");
}

TEST_CASE("a run that lasts longer than the limit is asked to end, and the next one begins",
          "[follow][hook]") {
    FollowStage stage;
    FakeService& service = stage.start_bus().start_service();
    const std::string wait = wait_for_leave(stage);
    const auto follow = run_hook(stage,
                                 "trap 'echo asked >>$account; exit' TERM; echo "
                                 "$NIGHTLATCH_CUE >>$account; " +
                                     wait,
                                 {"--limit", "200 ms"});
    REQUIRE(stage.await([&] { return account(stage) == "rest\nasked\n"; }));
    service.change(cue("leaving", 3'000'000));
    REQUIRE(stage.await([&] { return account(stage) == "rest\nasked\nleaving\nasked\n"; }));
    CHECK_THAT(follow->output(),
               ContainsSubstring("nightlatch: sh runs for longer than 200 ms: ended\n"));
}

TEST_CASE("a run that does not let itself be asked is killed two seconds later, with all its group",
          "[follow][hook]") {
    FollowStage stage;
    stage.start_bus().start_service();
    // The group's second process keeps the FIFO open for reading as long as it lives.
    const std::string wait = wait_for_leave(stage);
    const Instant begin = stage.loop().now();
    const auto follow = run_hook(stage,
                                 "trap '' TERM; (" + wait + ") & echo $! >$account; wait",
                                 {"--limit", "200 ms", "--once"});
    CHECK(stage.ended(*follow) == 0);
    CHECK(stage.loop().now() - begin >= std::chrono::milliseconds(2200));
    std::string second = account(stage);
    REQUIRE(second.ends_with("\n"));
    second.pop_back();
    CHECK(stage.await([&second] {
        const std::string status = content("/proc/" + second + "/status");
        return status.empty() || status.find("State:\tZ") != std::string::npos;
    }));
}

TEST_CASE("a program that is not there, and one that fails, are told; follow goes on",
          "[follow][hook]") {
    FollowStage stage;
    FakeService& service = stage.start_bus().start_service();
    const auto none = stage.tool({"follow", "--run", "/no/such/lamp"}, "none");
    REQUIRE(stage.await([&none] {
        return none->said("nightlatch: /no/such/lamp cannot be run: No such file or directory\n");
    }));
    CHECK_FALSE(none->ended());
    const auto failing = run_hook(stage, "echo $NIGHTLATCH_CUE >>$account; exit 3");
    REQUIRE(stage.await([&failing] { return failing->said("nightlatch: sh ended with 3\n"); }));
    service.change(cue("leaving", 3'000'000));
    REQUIRE(stage.await([&] { return account(stage) == "rest\nleaving\n"; }));
}

TEST_CASE("stopped by a signal, follow takes its program with it", "[follow][hook]") {
    FollowStage stage;
    stage.start_bus().start_service();
    const std::string wait = wait_for_leave(stage);
    const auto follow =
        run_hook(stage, "trap 'echo asked >>$account; exit' TERM; echo here >>$account; " + wait);
    REQUIRE(stage.await([&] { return account(stage) == "here\n"; }));
    follow->signal(SIGTERM);
    CHECK(stage.ended(*follow) == 0);
    CHECK(account(stage) == "here\nasked\n");
}

TEST_CASE("the last cue's program comes to its end before --end-at does", "[follow][hook]") {
    FollowStage stage;
    FakeService& service = stage.start_bus().start_service();
    const std::string wait = wait_for_leave(stage);
    const auto follow =
        run_hook(stage,
                 "echo $NIGHTLATCH_CUE >>$account; [ $NIGHTLATCH_CUE = rest ] || { " + wait +
                     "echo done >>$account; }",
                 {"--end-at", "leaving"});
    REQUIRE(stage.await([&] { return account(stage) == "rest\n"; }));
    service.change(cue("leaving", 3'000'000));
    REQUIRE(stage.await([&] { return account(stage) == "rest\nleaving\n"; }));
    give_leave(stage);
    CHECK(stage.ended(*follow) == 0);
    CHECK(account(stage) == "rest\nleaving\ndone\n");
}

TEST_CASE("all that follows --run is the program's, whatever it looks like", "[follow][hook]") {
    FollowStage stage;
    stage.start_bus().start_service();
    const std::string file = stage.desk().path("words");
    const auto follow = stage.tool({"follow",
                                    "--once",
                                    "--run",
                                    "sh",
                                    "-c",
                                    "printf '%s|' \"$@\" >" + file,
                                    "sh",
                                    "--json",
                                    "--",
                                    "-x",
                                    "--run"});
    CHECK(stage.ended(*follow) == 0);
    CHECK(content(file) == "--json|--|-x|--run|");
    const Ran none = run_tool("follow --run");
    CHECK(none.status == 2);
    CHECK_THAT(none.err, ContainsSubstring("--run needs a value: PROGRAM"));
    CHECK(run_tool("follow --limit 1s").status == 2);
    CHECK(run_tool("follow --json --run true").status == 2);
}
