// SPDX-License-Identifier: MIT
// `nightlatch status` and `nightlatch call-off` before a stand-in service.
#include "follow_stage.hpp"
#include "node_exporter.hpp"
#include "schema.hpp"

#include <algorithm>
#include <filesystem>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>

using namespace nightlatch;
using namespace nightlatch::test;
using Catch::Matchers::ContainsSubstring;

namespace {

FakeShown fine_unit() {
    FakeShown shown;
    shown.path = TREE "/config/examples/tide-logger.toml";
    return shown;
}

std::string said(const Process& process) {
    return words_in(process.output());
}

}  // namespace

TEST_CASE("status with nothing wrong is one screen, and ends with 0", "[status]") {
    FollowStage stage;
    stage.start_bus().start_service(fine_unit());
    const auto status = stage.tool({"status"});
    CHECK(stage.ended(*status) == 0);
    const std::string text = said(*status);
    CHECK_THAT(text, ContainsSubstring("rest at rest: hold 3 s for off (power-off)"));
    CHECK_THAT(text, ContainsSubstring("tide-logger.toml"));
    CHECK_THAT(text, ContainsSubstring("on disk: same"));
    CHECK_THAT(text, ContainsSubstring("LID_BUTTON on soc-gpio, released; held by the service"));
    CHECK_THAT(text, ContainsSubstring("configured, not yet proven"));
    CHECK_THAT(text, ContainsSubstring("battery low: not due"));
    CHECK_THAT(text, !ContainsSubstring("Next:"));
    const std::string page = status->output();
    CHECK(std::count(page.begin(), page.end(), '\n') <= 24);
}

TEST_CASE("status says what is wrong and the one next thing to do, and ends with 1", "[status]") {
    FollowStage stage;
    FakeShown bad = fine_unit();
    bad.on_disk = "bad";
    bad.trouble = "/etc/nightlatch/nightlatch.toml:3:1: unknown key";
    stage.start_bus().start_service(bad);
    const auto status = stage.tool({"status"});
    CHECK(stage.ended(*status) == 1);
    CHECK_THAT(said(*status), ContainsSubstring("nightlatch.toml:3:1: unknown key; an earlier"));
    CHECK_THAT(status->output(), ContainsSubstring("Next: sudo nightlatch check\n"));
}

TEST_CASE("status without the service, without a bus and with a mute service says so", "[status]") {
    FollowStage stage;
    const std::string unit = TREE "/config/examples/tide-logger.toml";
    const auto no_bus = stage.tool({"status", "--config", unit}, "no-bus");
    CHECK(stage.ended(*no_bus) == 1);
    CHECK_THAT(said(*no_bus),
               ContainsSubstring("Wrong: there is no system bus (nobody listens at "));
    CHECK_THAT(said(*no_bus), !ContainsSubstring("waiting for it"));
    stage.start_bus();
    const auto none = stage.tool({"status", "--config", unit}, "none");
    CHECK(stage.ended(*none) == 1);
    CHECK_THAT(said(*none), ContainsSubstring("Wrong: the service is not running Next:"));
    CHECK_THAT(none->output(), ContainsSubstring("Next: sudo systemctl start nightlatch"));
    const auto bad = stage.tool({"status", "--config", "/no/such.toml"}, "bad");
    CHECK(stage.ended(*bad) == 1);
    CHECK_THAT(bad->output(), ContainsSubstring("/no/such.toml"));
    CHECK_THAT(bad->output(), ContainsSubstring("Next: sudo nightlatch check"));
    stage.start_service().answers = false;
    const auto mute = stage.tool({"status", "--config", unit}, "mute");
    CHECK(stage.ended(*mute) == 1);
    CHECK_THAT(said(*mute), ContainsSubstring("Wrong: the service does not answer"));
}

TEST_CASE("status --json is as its schema says, with and without the service", "[status]") {
    FollowStage stage;
    stage.start_bus();
    const auto none = stage.tool({"status", "--json"}, "none");
    CHECK(stage.ended(*none) == 1);
    CHECK(against_schema("status", none->output()).empty());
    FakeShown shown = fine_unit();
    shown.cue = "fault";
    shown.watching = false;
    shown.reason = "line-lost";
    shown.reason_texts = {{"text", "the chip vanished"}};
    stage.start_service(shown);
    const auto status = stage.tool({"status", "--json"});
    CHECK(stage.ended(*status) == 1);
    CHECK(against_schema("status", status->output()).empty());
    const auto json = nlohmann::json::parse(status->output(), nullptr, false);
    CHECK(json["format"] == "nightlatch-status");
    CHECK(json["fine"] == false);
    CHECK(json["wrong"][0] ==
          "the button's line is not watched: the button's line is gone: the chip vanished");
    CHECK(json["reason"]["code"] == "line-lost");
}

TEST_CASE("the validator tells what a schema forbids", "[status]") {
    CHECK_FALSE(against_schema("follow", "").empty());
    CHECK_FALSE(against_schema("follow", "{\"format\":\"nightlatch-follow\"}\n").empty());
    CHECK_FALSE(against_schema("follow",
                               "{\"format\":\"nightlatch-follow\",\"version\":1,\"now\":1,"
                               "\"running\":false,\"why\":\"tide\"}\n")
                    .empty());
    CHECK(against_schema("follow",
                         "{\"format\":\"nightlatch-follow\",\"version\":1,\"now\":1,"
                         "\"running\":false,\"why\":\"no bus\"}\n")
              .empty());
}

TEST_CASE("the metrics are read by Debian's own collector, with and without the service",
          "[status]") {
    FollowStage stage;
    const Desk& desk = stage.desk();
    const std::string file = desk.path("nightlatch.prom");
    FakeShown shown = fine_unit();
    shown.alarms = {{"battery \"low\"", true}, {"bilge\\water", false}, {"bilge\\water", true}};
    shown.cue = "holding";
    stage.start_bus().start_service(shown);
    const auto status = stage.tool({"status", "--prometheus", "--output", file});
    CHECK(stage.ended(*status) == 0);
    CHECK(status->output().empty());
    CHECK_FALSE(std::filesystem::exists(file + ".new"));
    CHECK(against_node_exporter(file).empty());
    const std::string metrics = content(file);
    CHECK_THAT(metrics, ContainsSubstring("nightlatch_up 1\n"));
    CHECK_THAT(metrics, ContainsSubstring("nightlatch_cue{cue=\"holding\"} 1\n"));
    CHECK_THAT(metrics, ContainsSubstring("nightlatch_cue{cue=\"rest\"} 0\n"));
    CHECK_THAT(metrics, ContainsSubstring("nightlatch_alarms_due 2\n"));

    stage.end_service();
    const auto none = stage.tool({"status", "--prometheus", "--output", file}, "none");
    CHECK(stage.ended(*none) == 1);
    CHECK_THAT(none->output(), ContainsSubstring("the service is not running"));
    CHECK(against_node_exporter(file).empty());
    CHECK_THAT(content(file), ContainsSubstring("nightlatch_up 0\n"));
}

TEST_CASE("the collector's test can fail", "[status]") {
    const Desk desk;
    CHECK_FALSE(against_node_exporter(desk.file("a.prom", "nightlatch_up one\n")).empty());
    CHECK_FALSE(
        against_node_exporter(desk.file("b.prom", "# TYPE nightlatch_up info\nnightlatch_up 1\n"))
            .empty());
}

TEST_CASE("metrics that cannot be written leave the earlier file and end with 2", "[status]") {
    FollowStage stage;
    stage.start_bus().start_service(fine_unit());
    const auto status =
        stage.tool({"status", "--prometheus", "--output", "/no/such/folder/nightlatch.prom"});
    CHECK(stage.ended(*status) == 2);
    CHECK_THAT(status->output(), ContainsSubstring("/no/such/folder/nightlatch.prom: "));
}

TEST_CASE("call-off calls off, or says why not", "[call-off]") {
    FollowStage stage;
    const auto no_bus = stage.tool({"call-off"}, "no-bus");
    CHECK(stage.ended(*no_bus) == 1);
    CHECK_THAT(no_bus->output(), ContainsSubstring("there is no system bus"));
    stage.start_bus();
    const auto none = stage.tool({"call-off"}, "none");
    CHECK(stage.ended(*none) == 1);
    CHECK(none->output() == "nightlatch: the service is not running: nothing was called off\n");
    FakeService& service = stage.start_service();
    const auto done = stage.tool({"call-off"}, "done");
    CHECK(stage.ended(*done) == 0);
    CHECK(done->output() == "Called off.\n");
    CHECK(service.called_off == 1);
    const std::pair<const char*, const char*> errors[] = {
        {"org.nightlatch.Nightlatch1.Error.NothingToCallOff", "there is nothing to call off"},
        {"org.freedesktop.DBus.Error.AccessDenied", "refused: only root"},
        {"org.freedesktop.DBus.Error.InteractiveAuthorizationRequired", "refused: only root"},
        {"org.freedesktop.DBus.Error.Failed", "refused: as the test has it"}};
    for (const auto& [error, said] : errors) {
        INFO(error);
        service.call_off_error = error;
        const auto refused = stage.tool({"call-off"}, "refused");
        CHECK(stage.ended(*refused) == 1);
        CHECK_THAT(refused->output(), ContainsSubstring(said));
    }
    CHECK(service.called_off == 1);
}
