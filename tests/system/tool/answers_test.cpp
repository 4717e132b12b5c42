// SPDX-License-Identifier: MIT
// What all commands have in common: the form of what they answer programs with.
#include "desk.hpp"

#include <catch2/catch_test_macros.hpp>
#include <nlohmann/json.hpp>

using namespace nightlatch::test;

namespace {

using Json = nlohmann::json;

/// A press of the lid's button with a bounce of half a microsecond.
constexpr const char* capture = "Time [s],BTN\n0,1\n1,0\n1.0000005,1\n1.001,0\n4.2,1\n6,1\n";

/// The paths of members that are times and no whole numbers (or null), or times in another unit.
void find_wrong_times(const Json& json, const std::string& path, std::string& found) {
    for (const auto& [name, value] : json.items()) {
        const std::string here = path + "/" + name;
        const bool wrong_number = name.ends_with("_us") && value.is_number_float();
        if (wrong_number || name.ends_with("_s") || name.ends_with("_days")) {
            found += here + "\n";
        }
        if (value.is_structured()) {
            find_wrong_times(value, here, found);
        }
    }
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
