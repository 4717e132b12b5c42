// SPDX-License-Identifier: MIT
#include "circuit/assumed.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::circuit {
namespace {

// clang-format off
constexpr std::array assumed_values{
    Assumed{"rail_leakage", {20e-6, 200e-6, 2e-3}, "common practice, no source"},
    Assumed{"line_resistance", {30.0, 50.0, 100.0}, "from 0.14 V at 2 mA [raspberrypi/documentation, GPIO pads], and below"},
    Assumed{"line_current", {0.02, 0.04, 0.1}, "common practice, no source"},
    Assumed{"pin_limit", {0.016, 0.016, 0.016}, "rule of thumb for a pin [raspberrypi/documentation, GPIO pads]"},
    Assumed{"diode_factor", {0.6, 0.8, 1.0}, "published drops are the largest; the rest is practice"},
    Assumed{"hold_leakage", {1e-9, 10e-9, 100e-9}, "common practice, no source"},
    Assumed{"release_resistance", {1.0, 5.0, 10.0}, "common practice, no source"},
    Assumed{"gate_capacitance", {0.3e-9, 0.7e-9, 1.5e-9}, "common practice, no source"},
    Assumed{"drain_capacitance", {30e-12, 80e-12, 150e-12}, "common practice, no source"},
    Assumed{"source_resistance", {0.02, 0.05, 0.1}, "common practice, no source"},
    Assumed{"wire_resistance", {0.01, 0.03, 0.06}, "common practice, no source"},
    Assumed{"contact_resistance", {0.01, 0.02, 0.05}, "common practice, no source"},
    Assumed{"temperature", {0.0, 25.0, 40.0}, "a room"},
};

constexpr std::array<std::string_view, 15> silent{
    "line_pull", "gate_series", "gate_zener", "enable_hysteresis", "enable_delay",
    "regulator_output", "output_discharge", "rail_bleeder", "back_feed_voltage",
    "back_feed_current", "line_dies", "boot_pull", "boot_time", "latch_pull", "button_resistor"};
// clang-format on

}  // namespace

std::string sentence_of(const Assumption& assumption) {
    return std::string(assumption.words) +
           " is not stated: " + to_text(assumption.spread, assumption.unit) + " is assumed (" +
           std::string(assumption.source) + ")";
}

const Assumed* assumed_for(std::string_view key) noexcept {
    const auto* const found = std::find_if(assumed_values.begin(),
                                           assumed_values.end(),
                                           [&](const Assumed& one) { return one.key == key; });
    return found == assumed_values.end() ? nullptr : found;
}

bool is_usually_absent(std::string_view key) noexcept {
    return std::find(silent.begin(), silent.end(), key) != silent.end();
}

}  // namespace nightlatch::circuit
