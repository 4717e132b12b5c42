// SPDX-License-Identifier: MIT
#include "lines/pins.hpp"

#include <algorithm>
#include <string_view>

namespace nightlatch::lines {
namespace {

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

bool covers(const PinRange& range, const Chip& chip, unsigned offset) {
    return range.chip == chip.label && offset >= range.first_line &&
           offset - range.first_line < range.count;
}

}  // namespace

const Pin* pin_of(const Pins& pins, const Chip& chip, unsigned offset) {
    for (const PinRange& range : pins.ranges) {
        if (!covers(range, chip, offset)) {
            continue;
        }
        const unsigned number = range.first_pin + (offset - range.first_line);
        const auto pin = std::find_if(pins.pins.begin(), pins.pins.end(), [&](const Pin& one) {
            return one.controller == range.controller && one.pin == number;
        });
        if (pin != pins.pins.end()) {
            return &*pin;
        }
    }
    return nullptr;
}

PinUse pin_use(const Known<Pins>& pins, const Chip& chip, unsigned offset) {
    if (!pins) {
        return {PinNow::unknown, pins.what_is_missing()};
    }
    if (const Pin* const pin = pin_of(*pins, chip, offset)) {
        return use_of(*pin);
    }
    const bool known =
        std::any_of(pins->ranges.begin(), pins->ranges.end(), [&](const PinRange& range) {
            return covers(range, chip, offset);
        });
    return {PinNow::unknown,
            known ? "its pin controller is silent" : "no pin controller knows the line"};
}

}  // namespace nightlatch::lines
