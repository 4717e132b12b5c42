// SPDX-License-Identifier: MIT
// The audit's live front end below a made root: all that files carry is read from there by the very
// readers of the tool; what only a call can tell (chips, the login manager) is given as JSON.
// Prints the audit's JSON. usage: audit_probe ROOT FACTS.json
#include "audit/audit.hpp"
#include "audit/lines_named.hpp"
#include "audit/scene.hpp"
#include "daemon/facts/account.hpp"
#include "daemon/facts/files.hpp"
#include "daemon/facts/gather.hpp"
#include "daemon/facts/kernel.hpp"
#include "daemon/tool/audit/audit.hpp"

#include <cstdio>
#include <cstdlib>

#include <nlohmann/json.hpp>

using namespace nightlatch;
using Json = nlohmann::json;

namespace {

lines::Chip chip_of(const Json& json) {
    lines::Chip chip;
    chip.name = json.at("name");
    chip.label = json.at("label");
    chip.path = "/dev/" + chip.name;
    chip.node = json.at("node");
    chip.sleeps = json.value("sleeps", false);
    for (const Json& one : json.at("lines")) {
        lines::Line line;
        line.name = one.value("name", "");
        line.consumer = one.value("consumer", "");
        line.used = !line.consumer.empty();
        line.output = one.value("output", false);
        line.active_low = one.value("active_low", false);
        chip.lines.push_back(line);
    }
    return chip;
}

audit::LoginFacts login_of(const Json& json) {
    audit::LoginFacts login;
    login.handle_power_key = json.at("handle_power_key").get<std::string>();
    login.handle_power_key_long_press = std::string("ignore");
    login.block_inhibited = json.at("block_inhibited").get<std::string>();
    login.delay_limit = Duration(std::chrono::seconds(json.at("delay_limit_s").get<int>()));
    std::vector<audit::Inhibitor> inhibitors;
    for (const Json& one : json.at("inhibitors")) {
        inhibitors.push_back(
            {one.at("what"), one.at("who"), one.at("why"), one.at("mode"), 1000, 4242});
    }
    login.inhibitors = inhibitors;
    login.may_power_off = json.at("may_power_off").get<std::string>();
    login.may_power_off_multiple_sessions = login.may_power_off;
    return login;
}

std::optional<Duration> seconds_of(const Json& json) {
    return json.is_null() ? std::nullopt
                          : std::optional<Duration>(std::chrono::seconds(json.get<int>()));
}

void add_calls(audit::Facts& facts, const Json& json) {
    std::vector<lines::Chip> chips;
    for (const Json& one : json.at("chips")) {
        chips.push_back(chip_of(one));
    }
    facts.chips = chips;
    facts.kernel = *facts::kernel_version(json.at("kernel"));
    facts.login = login_of(json.at("login"));
    facts.manager.default_stop_timeout = *seconds_of(json.at("stop_timeout_s"));
    facts.manager.runtime_watchdog = seconds_of(json.at("runtime_watchdog_s"));
    facts.manager.reboot_watchdog = seconds_of(json.at("reboot_watchdog_s"));
    facts.button_level = audit::RestLevel{json.at("button_high").get<bool>()};
    std::vector<Known<audit::RestLevel>> levels;
    for (const bool high : json.at("alarms_high").get<std::vector<bool>>()) {
        levels.emplace_back(audit::RestLevel{high});
    }
    facts.alarm_levels = std::move(levels);
    std::vector<std::string> log = json.at("log");
    facts.driver.log = log;
}

}  // namespace

// What the JSON library throws at facts that a test made wrong may end the program.
// NOLINTNEXTLINE(bugprone-exception-escape)
int main(int argc, char** argv) {
    if (argc != 3) {
        std::fputs("usage: audit_probe ROOT FACTS.json\n", stderr);
        return EXIT_FAILURE;
    }
    const std::string root = argv[1];
    audit::Facts facts = facts::gather({audit::Source::live, root});
    const auto config = facts::read_file(root, "/etc/nightlatch/nightlatch.toml");
    const auto calls = facts::read_file("", argv[2]);
    if (!config || !calls) {
        std::fputs("no configuration, or no facts\n", stderr);
        return EXIT_FAILURE;
    }
    facts.config = audit::ConfigFacts{"nightlatch.toml", config::load(*config)};
    add_calls(facts, Json::parse(*calls));
    facts.account.chips = facts::read_chip_access(
        root, audit::chips_of(audit::opened_lines(audit::make_scene(facts))));
    std::fputs(tool::audit_json(audit::run(facts)).c_str(), stdout);
    return EXIT_SUCCESS;
}
