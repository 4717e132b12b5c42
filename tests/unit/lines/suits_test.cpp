// SPDX-License-Identifier: MIT
#include "lines/suits.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::lines;

namespace {

using Phrases = std::vector<std::string>;

/// The tide gauge's chip: eight free lines.
Chip soc() {
    Chip chip{"gpiochip0", "soc-gpio", "/dev/gpiochip0", {}, "/soc/gpio@7e200000", false, {}};
    chip.lines.resize(8);
    return chip;
}

/// One pin controller whose pins 100 to 107 are the chip's lines.
Pins pins_with(const Pin& pin) {
    Pins pins;
    pins.ranges = {{"elsewhere", "expander", 0, 100, 8}, {"7e200000.gpio", "soc-gpio", 0, 100, 8}};
    pins.pins = {{"elsewhere", 103, "", "fe000000.radio", "", "wifi"}, pin};
    return pins;
}

const std::vector<TreeUse> no_uses;
const Known<lines::Pins> pins_not_seen = Known<Pins>::missing("the pin controllers (run as root)");

}  // namespace

TEST_CASE("a free input suits a button", "[lines]") {
    const LineView view = view_line(soc(), 3, no_uses, pins_not_seen);
    CHECK(view.free);
    CHECK(view.suits == Suits::yes);
    CHECK(view.why.empty());
    CHECK(view.pin.now == PinNow::unknown);
    CHECK(view.pin.what == "the pin controllers (run as root)");
}

TEST_CASE("a line that somebody holds does not suit, whoever it is", "[lines]") {
    Chip chip = soc();
    chip.lines[3].used = true;
    chip.lines[3].output = true;
    for (const char* nameless : {"", "?"}) {
        chip.lines[3].consumer = nameless;
        const LineView view = view_line(chip, 3, no_uses, pins_not_seen);
        CHECK_FALSE(view.free);
        CHECK(view.suits == Suits::no);
        CHECK(view.why == Phrases{"held by somebody without a name"});
    }
    chip.lines[3].consumer = "spi0 CS0";
    CHECK(view_line(chip, 3, no_uses, pins_not_seen).why == Phrases{"held by spi0 CS0"});
}

TEST_CASE("a line that drives something now does not suit", "[lines]") {
    Chip chip = soc();
    chip.lines[3].output = true;
    const LineView view = view_line(chip, 3, no_uses, pins_not_seen);
    CHECK(view.free);
    CHECK(view.suits == Suits::no);
    CHECK(view.why == Phrases{"an output now"});
}

TEST_CASE("a line behind a slow bus suits with care, unless something else is against it",
          "[lines]") {
    Chip chip = soc();
    chip.sleeps = true;
    CHECK(view_line(chip, 3, no_uses, pins_not_seen).suits == Suits::with_care);
    CHECK(view_line(chip, 3, no_uses, pins_not_seen).why ==
          Phrases{"behind a slow bus: its edges come late"});
    chip.lines[3].output = true;
    CHECK(view_line(chip, 3, no_uses, pins_not_seen).suits == Suits::no);
}

TEST_CASE("what the tree wants a line for stands against it, on that line of that chip only",
          "[lines]") {
    const std::string node = soc().node;
    const std::pair<TreeUseKind, const char*> kinds[] = {
        {TreeUseKind::post_halt, "the post-halt line of /x"},
        {TreeUseKind::key, "a key in the tree, /x"},
        {TreeUseKind::led, "an LED in the tree, /x"},
        {TreeUseKind::hog, "taken at boot by /x"},
        {TreeUseKind::other, "in the tree for /x"},
    };
    for (const auto& [kind, why] : kinds) {
        const std::vector<TreeUse> uses{{kind, node, 3, "/x"}};
        CHECK(view_line(soc(), 3, uses, pins_not_seen).why == Phrases{why});
        CHECK(view_line(soc(), 3, uses, pins_not_seen).suits == Suits::no);
        CHECK(view_line(soc(), 2, uses, pins_not_seen).suits == Suits::yes);
        Chip other = soc();
        other.node = "/soc/gpio@7e201000";
        CHECK(view_line(other, 3, uses, pins_not_seen).suits == Suits::yes);
    }
}

TEST_CASE("a chip without a node is not taken for that of a nameless use", "[lines]") {
    Chip chip = soc();
    chip.node.clear();
    const std::vector<TreeUse> uses{{TreeUseKind::led, "", 3, "/leds/front"}};
    CHECK(view_line(chip, 3, uses, pins_not_seen).suits == Suits::yes);
}

TEST_CASE("a pin with another function does not suit, and the function is named", "[lines]") {
    const Pins pins = pins_with({"7e200000.gpio", 103, "gpio3", "3f202000.mmc", "", "sdhost"});
    const LineView view = view_line(soc(), 3, no_uses, pins);
    CHECK(view.pin.now == PinNow::other);
    CHECK(view.suits == Suits::no);
    CHECK(view.why == Phrases{"its pin is sdhost for 3f202000.mmc"});
    CHECK(view_line(soc(), 2, no_uses, pins).suits == Suits::yes);
}

TEST_CASE("a pin is GPIO only where its controller says so", "[lines]") {
    const auto now = [](const std::string& mux,
                        const std::string& gpio,
                        const std::string& function) {
        return pin_use(pins_with({"7e200000.gpio", 103, "", mux, gpio, function}), soc(), 3).now;
    };
    CHECK(now("", "", "gpio_in") == PinNow::gpio);
    CHECK(now("", "", "gpio") == PinNow::gpio);
    CHECK(now("", "pinctrl-soc:3", "") == PinNow::gpio);
    CHECK(now("", "", "") == PinNow::unknown);
    CHECK(now("fe000000.spi", "", "") == PinNow::other);
    CHECK(now("", "", "spi-gpio") == PinNow::other);
}

TEST_CASE("a line that no range covers, or whose pin is not listed, is unknown", "[lines]") {
    Pins pins = pins_with({"7e200000.gpio", 103, "", "", "", "gpio_in"});
    pins.ranges[1].count = 3;
    CHECK(pin_use(pins, soc(), 3).now == PinNow::unknown);
    CHECK(pin_use(pins, soc(), 2).what == "its pin controller is silent");
    pins.ranges[1] = {"7e200000.gpio", "soc-gpio", 4, 100, 4};
    CHECK(pin_use(pins, soc(), 3).what == "no pin controller knows the line");
    CHECK(pin_use(pins, soc(), 7).now == PinNow::gpio);
}
