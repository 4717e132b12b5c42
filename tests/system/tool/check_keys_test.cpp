// SPDX-License-Identifier: MIT
// `nightlatch check` shows every key of the format, in each of its ways.
#include "config/to_toml.hpp"
#include "daemon/tool/check/check.hpp"
#include "daemon/tool/check/summary.hpp"
#include "support/varied_settings.hpp"

#include <set>

#include <catch2/catch_test_macros.hpp>
#include <nlohmann/json.hpp>

using namespace nightlatch;

namespace {

using Json = nlohmann::json;

Json json_of(const config::Settings& settings) {
    tool::CheckReport report;
    report.loaded.settings = settings;
    return Json::parse(tool::check_json(report))["settings"];
}

/// The key's value in the settings' JSON; null where it is not there.
Json value_in(const Json& settings, const test::Varied& varied) {
    const Json& sections = settings[varied.section.name];
    const Json& section = varied.section.repeats() ? sections[varied.at] : sections;
    std::string name(varied.key.name);
    name += varied.key.part.empty() ? "" : "_" + std::string(varied.key.part);
    name += varied.key.kind == config::Kind::duration ? "_us" : "";
    return section.contains(name) ? section[name] : Json();
}

}  // namespace

TEST_CASE("with --json: every key is there, durations as whole microseconds", "[tool]") {
    test::for_each_varied([](const test::Varied& varied) {
        const Json shown = value_in(json_of(varied.settings), varied);
        INFO(shown.dump());
        if (const auto* duration = std::get_if<Duration>(&varied.value)) {
            CHECK(shown == *duration / std::chrono::microseconds(1));
            CHECK(shown.is_number_integer());
        } else if (const auto* count = std::get_if<std::size_t>(&varied.value)) {
            CHECK(shown == *count);
        } else {
            CHECK(shown == config::text_of(varied.value));
        }
    });
}

TEST_CASE("the summary shows the look of each stage that has one", "[tool]") {
    config::Settings settings = test::whole_settings();
    settings.core.stages.push_back(settings.core.stages.front());
    settings.core.stages[1].name = "start again";
    settings.feedback[0].looks.ready_by_stage = {
        {}, {core::PatternKind::on, Duration::zero(), Duration::zero()}};
    const std::string summary = tool::summary(settings);
    CHECK(summary.find("ready for start again  on\n") != std::string::npos);
    CHECK(summary.find("ready for off") == std::string::npos);
}

TEST_CASE("with --json: the parts of the circuit as they stand", "[tool]") {
    const Json json = json_of(test::whole_settings());
    CHECK(json["circuit"] == Json{{"supply_voltage", "12 V"}, {"hold_up.capacity", "10 F"}});
}

TEST_CASE(
    "with --json: a list of each section that may be repeated, and no other that is not there",
    "[tool]") {
    config::Settings settings = test::whole_settings();
    settings.feedback.clear();
    settings.core.alarms.clear();
    settings.alarm_lines.clear();
    settings.circuit.reset();
    const Json json = json_of(settings);
    CHECK(json["feedback"] == Json::array());
    CHECK(json["alarm"] == Json::array());
    CHECK(json.size() == 7);
    CHECK_FALSE(json.contains("circuit"));
}

TEST_CASE("the summary speaks of every key", "[tool]") {
    const std::string whole = tool::summary(test::whole_settings());
    std::set<std::string> unspoken;
    test::for_each_varied([&](const test::Varied& varied) {
        if (tool::summary(varied.settings) == whole) {
            unspoken.insert(full_name(varied.section, varied.key));
        }
    });
    CHECK(unspoken == std::set<std::string>{});
}
