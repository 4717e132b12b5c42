// SPDX-License-Identifier: MIT
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::circuit {

/// A key of the configuration's `[circuit]` with its value, as it would stand there.
struct Setting {
    std::string key;
    std::string text;

    bool operator==(const Setting&) const = default;
};

/// hold_capacitor = "22 uF"
std::string to_text(const Setting& setting);

/// What the passive parts take.
struct Ratings {
    double resistor = 0.1;        ///< W, each (common practice, no source)
    double bleeder = 0.25;        ///< W (common practice, no source)
    double hold_capacitor = 0.0;  ///< V; 0: not stated
    double rail_capacitor = 0.0;  ///< V, the lowest of those on the rail; 0: not stated
    double hold_derating = 0.5;   ///< the part of its voltage that is used, by the class
};

/// resistor_rating, bleeder_rating, hold_capacitor_rating, rail_capacitor_rating,
/// latch_current_limit, release_current_limit.
std::span<const std::string_view> rating_keys() noexcept;

}  // namespace nightlatch::circuit
