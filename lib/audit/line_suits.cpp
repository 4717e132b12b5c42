// SPDX-License-Identifier: MIT
#include "audit/line_suits.hpp"

#include "base/ensure.hpp"

#include <algorithm>
#include <string_view>

namespace nightlatch::audit {
namespace {

std::string sentence_of(const Claim& claim) {
    switch (claim.kind) {
    case ClaimKind::post_halt:
        return "the post-halt line of " + claim.by;
    case ClaimKind::key:
        return "a key in the tree, " + claim.by;
    case ClaimKind::led:
        return "an LED in the tree, " + claim.by;
    case ClaimKind::hog:
        return "taken at boot by " + claim.by;
    case ClaimKind::other:
        return "in the tree for " + claim.by;
    }
    return "";
}

std::string holder(const ChipLine& line) {
    // The kernel writes "?" for a holder without a name [linux drivers/gpio/gpiolib.c].
    const bool named = !line.consumer.empty() && line.consumer != "?";
    return named ? "held by " + line.consumer : "held by somebody without a name";
}

/// What pin controllers call a pin that is a plain line; other names may well be some bus over GPIO.
bool is_gpio_function(std::string_view function) {
    return function == "gpio" || function == "gpio_in" || function == "gpio_out";
}

PinUse use_of(const Pin& pin) {
    if (!pin.gpio_owner.empty() || is_gpio_function(pin.function)) {
        return {PinNow::gpio, ""};
    }
    if (pin.mux_owner.empty() && pin.function.empty()) {
        return {PinNow::unknown, "nobody has claimed the pin"};
    }
    const std::string function = pin.function.empty() ? "in use" : pin.function;
    return {PinNow::other, function + (pin.mux_owner.empty() ? "" : " for " + pin.mux_owner)};
}

}  // namespace

std::vector<Claim> claims_of(const devicetree::Tree& tree, const devicetree::Inventory& inventory) {
    std::vector<Claim> claims;
    const auto add = [&](ClaimKind kind, const auto& user, const devicetree::GpioLine& line) {
        if (user.enabled && line.controller != devicetree::no_node) {
            claims.push_back(
                {kind, tree.path_of(line.controller), line.offset, tree.path_of(user.node)});
        }
    };
    for (const devicetree::PostHaltNode& node : inventory.post_halt) {
        if (node.line) {
            add(ClaimKind::post_halt, node, *node.line);
        }
    }
    for (const devicetree::Key& key : inventory.keys) {
        add(ClaimKind::key, key, key.line.value_or(devicetree::GpioLine{}));
    }
    for (const devicetree::Led& led : inventory.leds) {
        add(ClaimKind::led, led, led.line.value_or(devicetree::GpioLine{}));
    }
    for (const devicetree::Hog& hog : inventory.hogs) {
        for (const devicetree::GpioLine& line : hog.lines) {
            add(ClaimKind::hog, hog, line);
        }
    }
    for (const devicetree::OtherUse& use : inventory.others) {
        const std::size_t before = claims.size();
        add(ClaimKind::other, use, use.line);
        if (claims.size() > before) {
            claims.back().by += " (" + use.property + ")";
        }
    }
    return claims;
}

PinUse pin_use(const Known<Pins>& pins, const Chip& chip, unsigned offset) {
    if (!pins) {
        return {PinNow::unknown, pins.what_is_missing()};
    }
    for (const PinRange& range : pins->ranges) {
        const bool covers = range.chip == chip.label && offset >= range.first_line &&
                            offset - range.first_line < range.count;
        if (!covers) {
            continue;
        }
        const unsigned number = range.first_pin + (offset - range.first_line);
        const auto pin = std::find_if(pins->pins.begin(), pins->pins.end(), [&](const Pin& one) {
            return one.controller == range.controller && one.pin == number;
        });
        return pin != pins->pins.end() ? use_of(*pin)
                                       : PinUse{PinNow::unknown, "its pin controller is silent"};
    }
    return {PinNow::unknown, "no pin controller knows the line"};
}

LineView view_line(const Chip& chip,
                   unsigned offset,
                   const std::vector<Claim>& claims,
                   const Known<Pins>& pins) {
    NIGHTLATCH_ENSURE(offset < chip.lines.size());
    const ChipLine& line = chip.lines[offset];
    LineView view;
    view.free = !line.used;
    view.pin = pin_use(pins, chip, offset);
    if (line.used) {
        view.why.push_back(holder(line));
    }
    for (const Claim& claim : claims) {
        if (!chip.node.empty() && claim.controller == chip.node && claim.offset == offset) {
            view.why.push_back(sentence_of(claim));
        }
    }
    if (!line.used && view.pin.now == PinNow::other) {
        view.why.push_back("its pin is " + view.pin.what);
    }
    if (!line.used && line.output) {
        view.why.emplace_back("an output now");
    }
    view.suits = view.why.empty() ? Suits::yes : Suits::no;
    if (chip.sleeps) {
        view.why.emplace_back("behind a slow bus: its edges come late");
        view.suits = view.suits == Suits::yes ? Suits::with_care : view.suits;
    }
    return view;
}

}  // namespace nightlatch::audit
