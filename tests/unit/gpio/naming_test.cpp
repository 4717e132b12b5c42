// SPDX-License-Identifier: MIT
#include "daemon/gpio/naming.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using Catch::Matchers::Equals;
using gpio::pick_line;

namespace {

const gpio::ChipFacts chip{"gpiochip0", "soc-gpio", 4};
const std::vector<std::string> names{"", "DOOR", "FRONT_BUTTON", "DOOR"};

}  // namespace

TEST_CASE("a line is known by its name or its offset", "[gpio]") {
    CHECK(*pick_line(chip, names, "FRONT_BUTTON") == 2);
    CHECK(*pick_line(chip, names, "0") == 0);
    CHECK(*pick_line(chip, names, "3") == 3);
}

TEST_CASE("digits are always an offset, never a name", "[gpio]") {
    CHECK(*pick_line(chip, {"1", "0"}, "0") == 0);
}

TEST_CASE("an offset beyond the chip, or beyond all numbers, is no line", "[gpio]") {
    for (const std::string line : {"4", "4294967296", "99999999999999999999999"}) {
        const auto picked = pick_line(chip, names, line);
        REQUIRE_FALSE(picked);
        CHECK(picked.error().trouble == Trouble::no_line);
        CHECK_THAT(picked.error().text,
                   Equals("gpiochip0 [soc-gpio] has no line " + line +
                          ": its 4 lines are numbered from 0"));
    }
}

TEST_CASE("a name that is not there is answered with those that are", "[gpio]") {
    const auto picked = pick_line(chip, names, "FRONT");
    REQUIRE_FALSE(picked);
    CHECK(picked.error().trouble == Trouble::no_line);
    CHECK_THAT(
        picked.error().text,
        Equals("gpiochip0 [soc-gpio] has no line named \"FRONT\": it has DOOR, FRONT_BUTTON, "
               "DOOR"));
}

TEST_CASE("a long list of names is cut, and a chip without names says so", "[gpio]") {
    const std::vector<std::string> ten{"A", "B", "C", "D", "E", "F", "G", "H", "I", "J"};
    CHECK_THAT(pick_line(chip, ten, "X").error().text,
               Equals("gpiochip0 [soc-gpio] has no line named \"X\": it has A, B, C, D, E, F, G, H "
                      "and 2 more"));
    CHECK_THAT(pick_line(chip, {"", ""}, "X").error().text,
               Equals("gpiochip0 [soc-gpio] has no line named \"X\": its lines have no names, so "
                      "give an offset"));
}

TEST_CASE("no name at all is not the name of the nameless lines", "[gpio]") {
    CHECK(pick_line(chip, names, "").error().trouble == Trouble::no_line);
}

TEST_CASE("a name that several lines carry is ambiguous, and their offsets are listed", "[gpio]") {
    const auto picked = pick_line(chip, names, "DOOR");
    REQUIRE_FALSE(picked);
    CHECK(picked.error().trouble == Trouble::ambiguous);
    CHECK_THAT(picked.error().text,
               Equals("2 lines of gpiochip0 [soc-gpio] are named \"DOOR\": give one of the offsets "
                      "1, 3 instead"));
}

TEST_CASE("a chip's name or path means a device, anything else a label", "[gpio]") {
    CHECK(gpio::device_of("/dev", "gpiochip12") == "/dev/gpiochip12");
    CHECK(gpio::device_of("/dev", "/dev/front-panel") == "/dev/front-panel");
    CHECK_FALSE(gpio::device_of("/dev", "soc-gpio"));
    CHECK_FALSE(gpio::device_of("/dev", "gpiochip"));
    CHECK_FALSE(gpio::device_of("/dev", "gpiochip-1"));
    CHECK_FALSE(gpio::device_of("/dev", "gpiochip1x"));
}

TEST_CASE("buses whose transfers sleep are known by their places in sysfs", "[gpio]") {
    CHECK(gpio::behind_slow_bus("/sys/devices/platform/soc/fe804000.i2c/i2c-1/1-0020/gpiochip2"));
    CHECK(gpio::behind_slow_bus(
        "/sys/devices/platform/soc/fe204000.spi/spi_master/spi0/spi0.0/gpiochip2"));
    CHECK(gpio::behind_slow_bus("/sys/devices/pci0000:00/0000:00:14.0/usb1/1-2/1-2:1.0/gpiochip0"));
    CHECK_FALSE(gpio::behind_slow_bus("/sys/devices/platform/soc/fe200000.gpio/gpiochip0"));
    CHECK_FALSE(gpio::behind_slow_bus("/sys/devices/platform/soc/fe204000.spi/gpiochip1"));
}
