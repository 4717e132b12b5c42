// SPDX-License-Identifier: MIT
#include "daemon/facts/pins.hpp"
#include "unit/facts/made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using Catch::Matchers::ContainsSubstring;

namespace {

const std::string loose = "Pinmux settings per pin\n"
                          "Format: pin (name): mux_owner gpio_owner hog?\n"
                          "pin 0 (gpio0): (MUX UNCLAIMED) (GPIO UNCLAIMED)\n"
                          "pin 4 (gpio4): (MUX UNCLAIMED) soc-gpio:516\n"
                          "pin 6 (gpio6): 200.gpio (GPIO UNCLAIMED) (HOG) function gpio_in group "
                          "gpio6\n"
                          "pin 9 (gpio9): 300.serial soc-gpio:521 function alt 5 group gpio9\n";

const std::string strict = "Pinmux settings per pin\n"
                           "Format: pin (name): mux_owner|gpio_owner (strict) hog?\n"
                           "pin 1 (PA1): device 300.serial function uart group PA1\n"
                           "pin 2 (PA2): GPIO pio:2\n"
                           "pin 3 (PA3): UNCLAIMED\n"
                           "pin 4 (PA4): device pio (HOG) function x group PA4\n";

}  // namespace

TEST_CASE("a pin has an owner of its function, one of its line, both, or none", "[facts]") {
    const auto pins = facts::pins_of("200.gpio", loose);
    REQUIRE(pins.size() == 4);
    CHECK(pins[0].controller == "200.gpio");
    CHECK(pins[0].name == "gpio0");
    CHECK((pins[0].mux_owner + pins[0].gpio_owner + pins[0].function).empty());
    CHECK(pins[1].mux_owner.empty());
    CHECK(pins[1].gpio_owner == "soc-gpio:516");
    CHECK(pins[2].pin == 6);
    CHECK(pins[2].mux_owner == "200.gpio");
    CHECK(pins[2].gpio_owner.empty());
    CHECK(pins[2].function == "gpio_in");
    CHECK(pins[3].mux_owner == "300.serial");
    CHECK(pins[3].gpio_owner == "soc-gpio:521");
    CHECK(pins[3].function == "alt 5");
}

TEST_CASE("a strict controller's pin belongs to a device or is a line, never both", "[facts]") {
    const auto pins = facts::pins_of("pio", strict);
    REQUIRE(pins.size() == 4);
    CHECK(pins[0].mux_owner == "300.serial");
    CHECK(pins[0].function == "uart");
    CHECK(pins[1].gpio_owner == "pio:2");
    CHECK(pins[1].mux_owner.empty());
    CHECK((pins[2].mux_owner + pins[2].gpio_owner).empty());
    CHECK(pins[3].mux_owner == "pio");
}

TEST_CASE("lines that are no pins are passed over", "[facts]") {
    for (const char* text :
         {"", "pin", "pin x (a): b c", "pin 1", "pin 1 (", "pin 1 (a)", "pin 1 (a):"}) {
        CHECK(facts::pins_of("c", text).empty());
    }
    CHECK(facts::pins_of("c", "pin 1 (a): ").size() == 1);
}

TEST_CASE("a chip's numbers are in the kernel's list, with or without a parent", "[facts]") {
    const auto chips = facts::chip_numbers(
        "gpiochip0: GPIOs 512-569, parent: platform/200.gpio, soc-gpio:\n"
        " gpio-518 (FRONT_BUTTON        |nightlatch          ) in  hi IRQ\n\n"
        "gpiochip1: GPIOs 570-577, parent: i2c/1-0020, expander, can sleep:\n"
        "gpiochip2: GPIOs 9-3, x:\ngpiochip3: 54 GPIOs, parent: platform/x, new:\n"
        "gpiochip4: (dangling chip)\n");
    REQUIRE(chips.size() == 2);
    CHECK(chips[0].label == "soc-gpio");
    CHECK(chips[0].first == 512);
    CHECK(chips[0].count == 58);
    CHECK(chips[1].label == "expander");
}

TEST_CASE("a range gives offsets on its chip, and a list of pins its runs", "[facts]") {
    const std::vector<facts::ChipNumbers> chips{{"soc-gpio", 512, 58}, {"other", 600, 8}};
    const auto ranges = facts::ranges_of("200.gpio",
                                         "GPIO ranges handled:\n"
                                         "0: soc-gpio GPIOS [520 - 569] PINS [8 - 57]\n"
                                         "1: other GPIOS [600 - 602] PINS {4, 9, 2}\n"
                                         "2: stranger GPIOS [1 - 2] PINS [0 - 1]\n"
                                         "3: other GPIOS [606 - 610] PINS [0 - 4]\n"
                                         "4: other GPIOS [603 - 601] PINS [0 - 4]\n"
                                         "5: other GPIOS [60\n5\n: GPIOS [\n",
                                         chips);
    REQUIRE(ranges.size() == 4);
    CHECK(ranges[0].chip == "soc-gpio");
    CHECK(ranges[0].first_line == 8);
    CHECK(ranges[0].first_pin == 8);
    CHECK(ranges[0].count == 50);
    CHECK(ranges[2].first_line == 1);
    CHECK(ranges[2].first_pin == 9);
    CHECK(ranges[2].count == 1);
}

TEST_CASE("pinctrl's view is put together from every controller's folder", "[facts]") {
    const test::MadeFolder made;
    CHECK_THAT(facts::read_pins(made.root()).what_is_missing(), ContainsSubstring("run as root"));
    const std::string folder = "/sys/kernel/debug/pinctrl/";
    made.file(folder + "200.gpio/pinmux-pins", loose);
    made.file(folder + "200.gpio/gpio-ranges",
              "GPIO ranges handled:\n0: soc-gpio GPIOS [512 - 569] PINS [0 - 57]\n");
    made.file(folder + "pinctrl-devices", "name [pinmux] [pinconf]\n");
    made.file("/sys/kernel/debug/gpio", "gpiochip0: GPIOs 512-569, soc-gpio:\n");
    const auto pins = facts::read_pins(made.root());
    REQUIRE(pins);
    CHECK(pins->pins.size() == 4);
    REQUIRE(pins->ranges.size() == 1);
    CHECK(pins->ranges[0].first_line == 0);
    // The older interface, where it is built in, has the word.
    made.file("/sys/class/gpio/gpiochip500/label", "soc-gpio\n");
    made.file("/sys/class/gpio/gpiochip500/base", "500\n");
    made.file("/sys/class/gpio/gpiochip500/ngpio", "100\n");
    made.file("/sys/class/gpio/export", "");
    CHECK(facts::read_pins(made.root())->ranges.at(0).first_line == 12);
}
