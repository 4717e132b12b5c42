// SPDX-License-Identifier: MIT
#include "audit/line_suits.hpp"

#include "base/ensure.hpp"

#include <algorithm>
#include <string_view>

namespace nightlatch::audit {
namespace {

std::string sentence_of(const TreeUse& use) {
    switch (use.kind) {
    case TreeUseKind::post_halt:
        return "the post-halt line of " + use.by;
    case TreeUseKind::key:
        return "a key in the tree, " + use.by;
    case TreeUseKind::led:
        return "an LED in the tree, " + use.by;
    case TreeUseKind::hog:
        return "taken at boot by " + use.by;
    case TreeUseKind::other:
        return "in the tree for " + use.by;
    }
    return "";
}

std::string holder(const ChipLine& line) {
    // The kernel writes "?" for a holder without a name [linux drivers/gpio/gpiolib.c].
    const bool named = !line.consumer.empty() && line.consumer != "?";
    return named ? "held by " + line.consumer : "held by somebody without a name";
}

/// What pin controllers call a plain line; other names may well be some bus over GPIO.
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

std::vector<TreeUse> tree_uses(const devicetree::Tree& tree,
                               const devicetree::Inventory& inventory) {
    std::vector<TreeUse> uses;
    const auto add = [&](TreeUseKind kind, const auto& user, const devicetree::GpioLine& line) {
        if (user.enabled && line.controller != devicetree::no_node) {
            uses.push_back(
                {kind, tree.path_of(line.controller), line.offset, tree.path_of(user.node)});
        }
    };
    for (const devicetree::PostHaltNode& node : inventory.post_halt) {
        if (node.line) {
            add(TreeUseKind::post_halt, node, *node.line);
        }
    }
    for (const devicetree::Key& key : inventory.keys) {
        add(TreeUseKind::key, key, key.line.value_or(devicetree::GpioLine{}));
    }
    for (const devicetree::Led& led : inventory.leds) {
        add(TreeUseKind::led, led, led.line.value_or(devicetree::GpioLine{}));
    }
    for (const devicetree::Hog& hog : inventory.hogs) {
        for (const devicetree::GpioLine& line : hog.lines) {
            add(TreeUseKind::hog, hog, line);
        }
    }
    for (const devicetree::OtherUse& use : inventory.others) {
        const std::size_t before = uses.size();
        add(TreeUseKind::other, use, use.line);
        if (uses.size() > before) {
            uses.back().by += " (" + use.property + ")";
        }
    }
    return uses;
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
                   const std::vector<TreeUse>& uses,
                   const Known<Pins>& pins) {
    NIGHTLATCH_ENSURE(offset < chip.lines.size());
    const ChipLine& line = chip.lines[offset];
    LineView view;
    view.free = !line.used;
    view.pin = pin_use(pins, chip, offset);
    if (line.used) {
        view.why.push_back(holder(line));
    }
    for (const TreeUse& use : uses) {
        if (!chip.node.empty() && use.controller == chip.node && use.offset == offset) {
            view.why.push_back(sentence_of(use));
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
