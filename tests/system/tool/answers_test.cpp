// SPDX-License-Identifier: MIT
// What all commands have in common: the form of what they answer programs with, and what becomes of
// an answer that cannot be written.
#include "desk.hpp"

#include <filesystem>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>
#include <unistd.h>

using namespace nightlatch::test;
using Catch::Matchers::ContainsSubstring;

namespace {

using Json = nlohmann::json;

/// A press of the lid's button with a bounce of half a microsecond.
constexpr const char* capture = "Time [s],BTN\n0,1\n1,0\n1.0000005,1\n1.001,0\n4.2,1\n6,1\n";

/// The paths of members that are times and no whole numbers (or null), or times in another unit.
// As deep as an answer is. NOLINTNEXTLINE(misc-no-recursion)
void find_wrong_times(const Json& json, const std::string& path, std::string& found) {
    for (const auto& [name, value] : json.items()) {
        std::string here = path;
        here += "/" + name;
        const bool wrong_number = name.ends_with("_us") && value.is_number_float();
        if (wrong_number || name.ends_with("_s") || name.ends_with("_days")) {
            found += here + "\n";
        }
        if (value.is_structured()) {
            find_wrong_times(value, here, found);
        }
    }
}

/// One of each kind of answer that needs no chip, of a unit whose configuration is fine.
std::vector<std::string> all_answers(const Desk& desk) {
    const std::string unit = " --config " TREE "/config/examples/tide-logger.toml";
    const std::string wave = " --wave " + desk.file("lid.csv", capture);
    std::vector<std::string> all{
        "--help", "--version", "check --help", "audit --rules", "audit --explain post-halt-pulse"};
    for (const char* command : {"check",
                                "check --json",
                                "check --print",
                                "circuit",
                                "circuit --json",
                                "circuit --netlist",
                                "rehearse",
                                "rehearse --json",
                                "rehearse --print-expect",
                                "audit",
                                "audit --json"}) {
        all.push_back(command + unit);
    }
    all.insert(all.end(),
               {"lines",
                "lines --json",
                "status",
                "status --json",
                "bounce" + wave,
                "bounce --json" + wave});
    return all;
}

}  // namespace

TEST_CASE("every answer in JSON has a format and a version, and its times are whole microseconds",
          "[tool]") {
    const Desk desk;
    const std::string unit = TREE "/config/examples/tide-logger.toml";
    const std::pair<const char*, std::string> commands[] = {
        {"nightlatch-check", "check --json " + unit},
        {"nightlatch-circuit", "circuit --json " + unit},
        {"nightlatch-rehearse", "rehearse --json --config " + unit},
        {"nightlatch-audit", "audit --json --config " + unit},
        {"nightlatch-lines", "lines --json"},
        {"nightlatch-status", "status --json"},
        {"nightlatch-bounce", "bounce --json --wave " + desk.file("lid.csv", capture)}};
    for (const auto& [format, arguments] : commands) {
        INFO(arguments);
        const Json json = Json::parse(run_tool(arguments).out, nullptr, false);
        REQUIRE(json.is_object());
        CHECK(json.value("format", "") == format);
        CHECK(json.value("version", 0) > 0);
        std::string wrong;
        find_wrong_times(json, "", wrong);
        CHECK(wrong.empty());
    }
}

TEST_CASE("an answer for which the disk has no room ends with 2 and the reason", "[tool]") {
    const Desk desk;
    for (const std::string& command : all_answers(desk)) {
        INFO(command);
        const Ran ran = run_tool(command, "/dev/full");
        CHECK(ran.status == 2);
        CHECK_THAT(ran.err,
                   ContainsSubstring(
                       "nightlatch: the answer could not be written: No space left on device\n"));
    }
}

TEST_CASE("an answer that nobody reads any more ends with 2 and the reason", "[tool]") {
    const Desk desk;
    int ends[2] = {-1, -1};
    REQUIRE(pipe(ends) == 0);
    close(ends[0]);
    REQUIRE(ends[1] < 10);  // more digits are no number of a file to every shell
    for (const std::string& command : all_answers(desk)) {
        INFO(command);
        const Ran ran = run_tool(command, "&" + std::to_string(ends[1]));
        CHECK(ran.status == 2);
        CHECK_THAT(ran.err,
                   ContainsSubstring("nightlatch: the answer could not be written: Broken pipe\n"));
    }
    close(ends[1]);
}

TEST_CASE("a picture or a recording that cannot be written whole is not left there", "[tool]") {
    const Desk desk;
    const std::string unit = " --config " TREE "/config/examples/tide-logger.toml ";
    for (const char* command : {"circuit --svg ", "rehearse --svg ", "rehearse --vcd "}) {
        INFO(command);
        const std::string file = desk.path("torn");
        const std::string limited =
            desk.file("limited",
                      "ulimit -f 1\ntrap '' XFSZ\n" NIGHTLATCH " " + (command + file) + unit +
                          ">/dev/null 2>" + desk.path("said") + "\n");
        const int ended = std::system(("sh " + limited).c_str());
        CHECK(WEXITSTATUS(ended) == 2);
        CHECK_THAT(content(desk.path("said")),
                   ContainsSubstring("cannot write " + file + ": File too large"));
        CHECK_FALSE(std::filesystem::exists(file));
    }
}
