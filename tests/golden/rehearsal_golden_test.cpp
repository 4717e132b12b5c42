// SPDX-License-Identifier: MIT
// Whole accounts of rehearsals, as the tool prints them: tests/golden/rehearse/NAME.txt.
#include "config/load.hpp"
#include "daemon/tool/rehearse/rehearse.hpp"

#include <cstdlib>
#include <fstream>
#include <iterator>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;

namespace {

std::string content(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    REQUIRE(file.is_open());
    return {std::istreambuf_iterator<char>(file), {}};
}

void check_account(const std::string& name, const std::string& unit, const std::string& script) {
    const config::Loaded settings = config::load(content(CONFIG_FOLDER "/" + unit));
    REQUIRE(settings.settings);
    const rehearsal::LoadedScript loaded = rehearsal::load_press_script(content(script));
    REQUIRE(loaded.script);
    tool::RehearseReport report;
    report.config = unit;
    report.script = name + ".presses.toml";
    report.rehearsal = rehearsal::rehearse({*settings.settings, *loaded.script, false});
    report.expectations =
        rehearsal::check_expectations(loaded.script->expectations, report.rehearsal);
    const std::string account = tool::rehearse_text(report);
    const std::string golden = GOLDEN_FOLDER "/rehearse/" + name + ".txt";
    if (std::getenv("UPDATE_GOLDEN") != nullptr) {
        std::ofstream(golden, std::ios::binary) << account;
    }
    CHECK(account == content(golden));
    CHECK(tool::rehearse_status(report) == 0);
}

}  // namespace

// Common practice, no source: a sign at once on the press, kept until the hold time; a second sign
// exactly at the hold time; nothing more while held; an early release cancels without effect;
// power-off only on the release.
TEST_CASE("the customary sequence of a held button", "[rehearse][golden]") {
    check_account(
        "front-button", "nightlatch.toml", CONFIG_FOLDER "/examples/front-button.presses.toml");
}

TEST_CASE("a day on the pontoon", "[rehearse][golden]") {
    check_account("pontoon-day",
                  "examples/tide-logger.toml",
                  CONFIG_FOLDER "/examples/pontoon-day.presses.toml");
}

TEST_CASE("a day on which much goes wrong on the pontoon", "[rehearse][golden]") {
    check_account(
        "troubles", "examples/tide-logger.toml", GOLDEN_FOLDER "/rehearse/troubles.presses.toml");
}

TEST_CASE("quick taps on the lid are no hold, and a hold with short drop-outs is one",
          "[rehearse][golden]") {
    check_account("quick-taps",
                  "examples/tide-logger.toml",
                  GOLDEN_FOLDER "/rehearse/quick-taps.presses.toml");
}
