// SPDX-License-Identifier: MIT
#include "daemon/gpio/survey.hpp"
#include "support/fake_gpiod.hpp"

#include <cerrno>
#include <filesystem>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <gpiod.h>

using namespace nightlatch;
using Catch::Matchers::ContainsSubstring;
using test::FakeChip;
using test::FakeGpio;

namespace {

namespace fs = std::filesystem;

/// Lays a link from `from`, below the fake's sysfs, to a folder there.
void link_to(const FakeGpio& gpio, const std::string& from, const std::string& to) {
    const std::string sys = gpio.places().sys;
    fs::create_directories(sys + to);
    fs::create_directories(fs::path(sys + from).parent_path());
    fs::create_directory_symlink(sys + to, sys + from);
}

gpio::Wanted button() {
    return {{"soc-gpio", "FRONT_BUTTON"}, lines::Bias::pull_up, true, false};
}

}  // namespace

TEST_CASE("a survey tells of each chip's lines what the kernel says, by number", "[gpio]") {
    FakeGpio gpio;
    gpio.add(10, "expander", {"LAMP"});
    FakeChip& soc = gpio.add(2, "soc-gpio", {"", "FRONT_BUTTON", "SUPPLY_RELEASE"});
    soc.lines[2].user = "supply-release";
    soc.lines[2].output = true;
    soc.lines[2].active_low = true;

    const gpio::Survey seen = gpio::survey(gpio.places());
    CHECK(seen.unseen.empty());
    REQUIRE(seen.chips.size() == 2);
    CHECK(seen.chips[0].name == "gpiochip2");
    CHECK(seen.chips[0].label == "soc-gpio");
    CHECK(seen.chips[0].node.empty());
    CHECK(seen.chips[1].name == "gpiochip10");
    REQUIRE(seen.chips[0].lines.size() == 3);
    const auto& lines = seen.chips[0].lines;
    CHECK(lines[0].name.empty());
    CHECK_FALSE(lines[1].used);
    CHECK_FALSE(lines[1].output);
    CHECK(lines[1].name == "FRONT_BUTTON");
    CHECK(lines[2].used);
    CHECK(lines[2].output);
    CHECK(lines[2].active_low);
    CHECK(lines[2].consumer == "supply-release");
    CHECK(lines[2].bias == lines::Bias::as_is);
}

TEST_CASE("a survey tells the links that lead to a chip, in folders below too", "[gpio]") {
    FakeGpio gpio;
    gpio.add(0, "soc-gpio", {"FRONT_BUTTON"});
    gpio.add(1, "expander", {"LAMP"});
    const std::string dev = gpio.places().dev;
    fs::create_directory(dev + "/gauge");
    fs::create_symlink("gpiochip0", dev + "/gpiochip4");
    fs::create_symlink(dev + "/gpiochip4", dev + "/front-panel");
    fs::create_symlink("../gpiochip1", dev + "/gauge/lamps");
    fs::create_symlink("gpiochip9", dev + "/nowhere");

    const gpio::Survey seen = gpio::survey(gpio.places());
    REQUIRE(seen.chips.size() == 2);
    CHECK(seen.chips[0].path == dev + "/gpiochip0");
    CHECK(seen.chips[0].aliases ==
          std::vector<std::string>{dev + "/front-panel", dev + "/gpiochip4"});
    CHECK(seen.chips[1].path == dev + "/gpiochip1");
    CHECK(seen.chips[1].aliases == std::vector<std::string>{dev + "/gauge/lamps"});
}

TEST_CASE("a survey requests no line and leaves no chip open", "[gpio]") {
    FakeGpio gpio;
    FakeChip& chip = gpio.add(0, "soc-gpio", {"FRONT_BUTTON"});
    CHECK(gpio::survey(gpio.places()).chips.size() == 1);
    CHECK_FALSE(chip.lines[0].request);
    CHECK(gpio.open_chips == 0);
    CHECK(gpio.open_requests == 0);
}

TEST_CASE("a survey tells a chip's node in the device tree and a bus that sleeps", "[gpio]") {
    FakeGpio gpio;
    gpio.add(0, "soc-gpio", {"A"});
    gpio.add(1, "expander", {"B"});
    const std::string i2c = "/devices/platform/soc/i2c-1/1-0020/gpiochip1";
    link_to(gpio, "/bus/gpio/devices/gpiochip1", i2c);
    link_to(gpio, "/bus/gpio/devices/gpiochip0", "/devices/platform/soc/gpiochip0");
    link_to(
        gpio, "/bus/gpio/devices/gpiochip0/of_node", "/firmware/devicetree/base/soc/gpio@7e200000");

    const gpio::Survey seen = gpio::survey(gpio.places());
    REQUIRE(seen.chips.size() == 2);
    CHECK(seen.chips[0].node == "/soc/gpio@7e200000");
    CHECK_FALSE(seen.chips[0].sleeps);
    CHECK(seen.chips[1].node.empty());
    CHECK(seen.chips[1].sleeps);
}

TEST_CASE("a chip that may not be opened is told beside those that may", "[gpio]") {
    FakeGpio gpio;
    gpio.add(0, "soc-gpio", {"A"}).open_error = EACCES;
    gpio.add(1, "expander", {"B"});
    const gpio::Survey seen = gpio::survey(gpio.places());
    REQUIRE(seen.chips.size() == 1);
    CHECK(seen.chips[0].label == "expander");
    REQUIRE(seen.unseen.size() == 1);
    CHECK(seen.unseen[0].device == gpio.places().dev + "/gpiochip0");
    CHECK(seen.unseen[0].error.trouble == Trouble::denied);
}

TEST_CASE("a machine without chips has an empty survey", "[gpio]") {
    const FakeGpio gpio;
    const gpio::Survey seen = gpio::survey(gpio.places());
    CHECK(seen.chips.empty());
    CHECK(seen.unseen.empty());
}

TEST_CASE("the level at rest is electrical, read with the configured bias, and let go", "[gpio]") {
    FakeGpio gpio;
    FakeChip& chip = gpio.add(0, "soc-gpio", {"", "FRONT_BUTTON"});
    for (const bool high : {true, false}) {
        chip.lines[1].high = high;
        const auto level = gpio::read_rest_level(gpio.places(), button());
        REQUIRE(level);
        CHECK(level->high == high);
        CHECK(gpio.open_requests == 0);
        CHECK(gpio.open_chips == 0);
    }
}

TEST_CASE("a line that somebody holds is not read, and the holder is named", "[gpio]") {
    FakeGpio gpio;
    FakeChip& chip = gpio.add(0, "soc-gpio", {"", "FRONT_BUTTON"});
    chip.lines[1].user = "gpio-keys";
    const auto theirs = gpio::read_rest_level(gpio.places(), button());
    REQUIRE_FALSE(theirs);
    CHECK_THAT(theirs.what_is_missing(), ContainsSubstring("in use by \"gpio-keys\""));

    chip.lines[1].user = "nightlatch";
    fs::create_symlink("gpiochip0", gpio.places().dev + "/gpiochip4");
    for (const char* name : {"soc-gpio", "gpiochip0", "gpiochip4"}) {
        gpio::Wanted wanted = button();
        wanted.where.chip = name;
        const auto ours = gpio::read_rest_level(gpio.places(), wanted);
        REQUIRE_FALSE(ours);
        CHECK(ours.what_is_missing() == "the service holds the button line: see its status");
    }
}

TEST_CASE("a level that cannot be read says why", "[gpio]") {
    FakeGpio gpio;
    gpio.add(0, "soc-gpio", {"OTHER"});
    const auto level = gpio::read_rest_level(gpio.places(), button());
    REQUIRE_FALSE(level);
    CHECK_THAT(level.what_is_missing(), ContainsSubstring("no line named \"FRONT_BUTTON\""));
}
