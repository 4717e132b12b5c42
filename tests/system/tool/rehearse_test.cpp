// SPDX-License-Identifier: MIT
#include "desk.hpp"

#include <filesystem>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>

using namespace nightlatch::test;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::EndsWith;
using Catch::Matchers::StartsWith;

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

/// The pontoon's button, with a press script or a capture beside its configuration.
struct Unit : Desk {
    Unit() {
        write(path("unit.toml"),
              "[button]\nchip = \"soc-gpio\"\nline = \"LID_BUTTON\"\npressed = \"low\"\n"
              "[[stage]]\nname = \"off\"\nhold = \"3 s\"\naction = \"power-off\"\n");
    }

    [[nodiscard]] Ran rehearse(const std::string& arguments) const {
        return run_tool("rehearse --config " + path("unit.toml") + " " + arguments);
    }
};

constexpr const char* one_hold = "[[press]]\nat = \"1 s\"\nfor = \"3.2 s\"\n";
constexpr const char* asked_then = "[[expect]]\nat = \"4.23 s\"\nasks = \"power-off\"\n";

/// What a logic analyser would have written of the same hold: high at rest, in microseconds.
constexpr const char* recorded_hold = "$timescale 1 us $end\n$scope module analyser $end\n"
                                      "$var wire 1 ! BTN $end\n$var wire 1 \" CLK $end\n"
                                      "$upscope $end\n$enddefinitions $end\n"
                                      "#0\n1!\n0\"\n#1000000\n0!\n#1002000\n1!\n#1003000\n0!\n"
                                      "#4200000\n1!\n#6000000\n";

}  // namespace

TEST_CASE("a rehearsal tells line by line what happens, and ends with what would be asked",
          "[tool][rehearse]") {
    const Unit unit;
    const Ran ran = unit.rehearse(unit.file("presses.toml", one_hold));
    CHECK(ran.status == 0);
    CHECK(ran.err.empty());
    CHECK_THAT(ran.out, ContainsSubstring("    1.000 s  button    pressed\n"));
    CHECK_THAT(ran.out, ContainsSubstring("    4.000 s  cue       ready"));
    CHECK_THAT(ran.out,
               ContainsSubstring("After 9.2 s: the system would have received one request:\n"
                                 "    4.230 s  power-off, accepted: let go after 3.200 s"));
}

TEST_CASE("without a script the presses are made for the configuration", "[tool][rehearse]") {
    const Ran ran = Unit().rehearse("");
    CHECK(ran.status == 0);
    CHECK_THAT(ran.out, ContainsSubstring("A tap: nothing happens."));
    CHECK_THAT(ran.out, ContainsSubstring("Held for stage \"off\", and let go."));
    CHECK_THAT(ran.out, ContainsSubstring("one request:"));
}

TEST_CASE("before there is a configuration the installed example is rehearsed, and that is said",
          "[tool][rehearse]") {
    const char* const in_force = "/etc/nightlatch/nightlatch.toml";
    if (fs::exists(in_force)) {
        SKIP("this machine has a configuration in force");
    }
    const TemporaryDirectory prefix;
    fs::create_directories(prefix.path() + "/bin");
    fs::copy_file(NIGHTLATCH, prefix.path() + "/bin/nightlatch");
    const std::string example = prefix.path() + "/share/nightlatch/examples/tide-logger.toml";
    const Ran without = run_program(prefix.path() + "/bin/nightlatch", "rehearse");
    CHECK(without.status == 2);
    CHECK_THAT(without.err, ContainsSubstring(in_force));
    fs::create_directories(fs::path(example).parent_path());
    fs::copy_file(TREE "/config/examples/tide-logger.toml", example);
    const Ran with = run_program(prefix.path() + "/bin/nightlatch", "rehearse");
    CHECK(with.status == 0);
    CHECK(with.err == "there is no " + std::string(in_force) + ": this rehearses the example " +
                          example + "\n");
    CHECK(with.out == run_tool("rehearse --config " + example).out);
}

TEST_CASE("many bounces are one line, and with --all each has its own", "[tool][rehearse]") {
    const Unit unit;
    const std::string script =
        unit.file("presses.toml", std::string(one_hold) + "bounce = { release = \"20 x 1 ms\" }\n");
    CHECK_THAT(unit.rehearse(script).out, ContainsSubstring("released (41 edges in 40 ms)\n"));
    const Ran all = unit.rehearse("--all " + script);
    CHECK_THAT(all.out, !ContainsSubstring("41 edges"));
    CHECK_THAT(all.out, ContainsSubstring("    4.239 s  button    pressed\n"));
}

TEST_CASE("expectations that are met say so, and the exit status is 0", "[tool][rehearse]") {
    const Unit unit;
    const std::string script = unit.file(
        "presses.toml", std::string(one_hold) + asked_then + "[[expect]]\nrequests = 1\n");
    const Ran ran = unit.rehearse("--expect " + script);
    CHECK(ran.status == 0);
    CHECK(ran.out == "All 2 expectations are met.\n");
}

TEST_CASE("an expectation that is not met is shown beside what came, with its place, and exits 1",
          "[tool][rehearse]") {
    const Unit unit;
    const std::string script = unit.file("presses.toml",
                                         std::string(one_hold) + asked_then +
                                             "[[expect]]\nat = \"3.9 s\"\nshows = \"ready\"\n"
                                             "[[expect]]\nat = \"4 s\"\nbegins = \"stuck\"\n"
                                             "[[expect]]\nrequests = 2\n");
    const Ran ran = unit.rehearse("--expect " + script);
    CHECK(ran.status == 1);
    CHECK_THAT(ran.out,
               ContainsSubstring(script + ":7:1: not as expected\n"
                                          "-     3.900 s  ready is shown\n"
                                          "+     3.900 s  holding is shown\n"));
    CHECK_THAT(ran.out, ContainsSubstring("+ never      stuck begins\n"));
    CHECK_THAT(ran.out, ContainsSubstring("- 2 in all: requests\n+ 1 in all: requests\n"));
    CHECK_THAT(ran.out, EndsWith("3 of 4 expectations are not met.\n"));
    CHECK_THAT(ran.out, !ContainsSubstring("4.230"));
    CHECK(unit.rehearse(script).status == 1);
}

TEST_CASE("what --print-expect prints is met by the same run", "[tool][rehearse]") {
    const Unit unit;
    const std::string script = unit.file("presses.toml", one_hold);
    const Ran printed = unit.rehearse("--print-expect " + script);
    CHECK(printed.status == 0);
    CHECK_THAT(printed.out, ContainsSubstring("asks = \"power-off\""));
    const std::string kept = unit.file("kept.toml", one_hold + printed.out);
    const Ran ran = unit.rehearse("--expect " + kept);
    CHECK(ran.status == 0);
    CHECK_THAT(ran.out, StartsWith("All 8 expectations"));
}

TEST_CASE("expecting of a script that expects nothing is an error that says what to do",
          "[tool][rehearse]") {
    const Unit unit;
    const Ran ran = unit.rehearse("--expect " + unit.file("presses.toml", one_hold));
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err,
               ContainsSubstring("presses.toml has no [[expect]] tables: add some (night"));
    CHECK(ran.out.empty());
    const std::string wave = unit.file("scope.vcd", recorded_hold);
    const std::string needed = "--expect needs a press script with [[expect]] tables (nightlatch "
                               "rehearse --print-expect writes those that are met now)\n";
    const Ran built_in = unit.rehearse("--expect");
    CHECK(built_in.status == 2);
    CHECK(built_in.err == "nightlatch: " + needed);
    const Ran capture = unit.rehearse("--expect --signal BTN --wave " + wave);
    CHECK(capture.status == 2);
    CHECK(capture.err == "nightlatch: " + wave + " is only a capture: " + needed);
}

TEST_CASE("every mistake in the script and the configuration has its place, and the status is 2",
          "[tool][rehearse]") {
    const Unit unit;
    const std::string script =
        unit.file("presses.toml",
                  "[[press]]\nat = 1\n[[login_manager]]\nat = \"1 s\"\ndoes = \"vanishes\"\n");
    const Ran ran = unit.rehearse(script);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, ContainsSubstring(script + ":2:6: error: press.at"));
    CHECK_THAT(ran.err, ContainsSubstring(script + ":5:8: error: login_manager.does"));
    write(unit.path("unit.toml"), "[button]\n");
    CHECK(unit.rehearse(script).status == 2);
    CHECK(unit.rehearse(unit.path("not there")).status == 2);
}

TEST_CASE("a capture is played as the button, and the configuration says which level is pressed",
          "[tool][rehearse]") {
    const Unit unit;
    const std::string vcd = unit.file("scope.vcd", recorded_hold);
    const Ran ran = unit.rehearse("--wave " + vcd + " --signal BTN");
    CHECK(ran.status == 0);
    CHECK_THAT(ran.out, ContainsSubstring("let go after 3.197 s"));
    CHECK_THAT(ran.out, ContainsSubstring("    4.230 s  power-off, accepted"));
    CHECK(unit.rehearse("--wave " + vcd).status == 2);  // two signals: which?
    const Ran csv =
        unit.rehearse("--wave " + unit.file("scope.csv", "Time [s],BTN\n0,1\n1,0\n4.2,1\n6,1\n"));
    CHECK(csv.status == 0);
    CHECK_THAT(csv.out, ContainsSubstring("let go after 3.200 s"));
}

TEST_CASE("a capture and a script that expects something of it are a test", "[tool][rehearse]") {
    const Unit unit;
    const std::string wave = "--wave " + unit.file("scope.vcd", recorded_hold) + " --signal BTN ";
    const Ran met = unit.rehearse(wave + "--expect " + unit.file("met.toml", asked_then));
    CHECK(met.status == 0);
    const Ran both = unit.rehearse(wave + unit.file("both.toml", one_hold));
    CHECK(both.status == 2);
    CHECK_THAT(both.err, ContainsSubstring("so does the capture"));
}

TEST_CASE("the waveforms that a rehearsal writes are read back as the same presses",
          "[tool][rehearse]") {
    const Unit unit;
    const std::string script = unit.file(
        "presses.toml",
        std::string(one_hold) + "bounce = { press = \"3 x 1 ms\", release = \"5 x 2 ms\" }\n");
    const std::string vcd = unit.path("out.vcd");
    const Json first = Json::parse(unit.rehearse("--json --vcd " + vcd + " " + script).out);
    // The file's level is 1 for pressed; a configuration of the other polarity reads it.
    std::string high = content(unit.path("unit.toml"));
    high.replace(high.find("\"low\""), 5, "\"high\"");
    write(unit.path("unit.toml"), high);
    const Json second = Json::parse(unit.rehearse("--json --wave " + vcd + " --signal button").out);
    CHECK(first["requests"] == second["requests"]);
    REQUIRE(first["requests"].size() == 1);
    CHECK(first["requests"][0]["at_us"] == 4'250'000);
}

TEST_CASE("a diagram is written where it is wanted, and a file that cannot be written is an error",
          "[tool][rehearse]") {
    const Unit unit;
    const std::string script = unit.file("presses.toml", one_hold);
    CHECK(unit.rehearse("--svg " + unit.path("day.svg") + " " + script).status == 0);
    const std::string svg = content(unit.path("day.svg"));
    CHECK_THAT(svg, ContainsSubstring("<svg"));
    CHECK_THAT(svg,
               ContainsSubstring(
                   "<title>Pressed once: power-off is asked for at 4.230 s and accepted.</title>"));
    CHECK_THAT(svg, ContainsSubstring(" width=\"1200\""));
    const std::string narrow = unit.path("narrow.svg");
    CHECK(unit.rehearse("--narrow --svg " + narrow + " " + script).status == 0);
    CHECK_THAT(content(narrow), ContainsSubstring(" width=\"536\""));
    CHECK(unit.rehearse("--narrow " + script).status == 2);
    const Ran nowhere = unit.rehearse("--svg " + unit.path("no/such/day.svg") + " " + script);
    CHECK(nowhere.status == 2);
    CHECK_THAT(nowhere.err, ContainsSubstring("cannot write"));
}

TEST_CASE("the answer in JSON has the requests, the cues, the events and the expectations",
          "[tool][rehearse]") {
    const Unit unit;
    const Ran ran =
        unit.rehearse("--json " + unit.file("presses.toml", std::string(one_hold) + asked_then));
    const Json json = Json::parse(ran.out);
    CHECK(json["requests"][0]["action"] == "power-off");
    CHECK(json["requests"][0]["outcome"] == "accepted");
    CHECK(json["end_us"] == 9'200'000);
    CHECK(json["cues"].back()["cue"] == "leaving");
    CHECK(json["events"].size() > 10);
    CHECK(json["expectations"][0]["met"] == true);
}

TEST_CASE("every worked example has a rehearsal, and what it expects is what happens",
          "[tool][rehearse]") {
    const std::string config = TREE "/config/";
    const std::vector<std::pair<std::string, std::string>> pairs{
        {"nightlatch.toml", "examples/front-button.presses.toml"},
        {"examples/one-hold.toml", "examples/one-hold.presses.toml"},
        {"examples/tide-logger.toml", "examples/pontoon-day.presses.toml"}};
    std::size_t examples = 0;
    for (const auto& entry : fs::recursive_directory_iterator(config)) {
        const std::string name = entry.path().string();
        examples += name.ends_with(".toml") && !name.ends_with(".presses.toml") ? 1U : 0U;
    }
    CHECK(examples == pairs.size());
    for (const auto& [unit, script] : pairs) {
        std::string arguments = "rehearse --expect --config ";
        arguments += config;
        arguments += unit;
        arguments += " ";
        arguments += config;
        arguments += script;
        const Ran ran = run_tool(arguments);
        INFO(ran.out << ran.err);
        CHECK(ran.status == 0);
    }
}
