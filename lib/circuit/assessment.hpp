// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/advice.hpp"
#include "circuit/corners.hpp"
#include "circuit/finding.hpp"
#include "circuit/main_switch.hpp"
#include "circuit/off_state.hpp"
#include "circuit/pin.hpp"
#include "circuit/switch_on.hpp"

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::circuit {

/// Will it let go and stay off?
enum class StaysOff : unsigned char {
    all_corners,  ///< within every tolerance at once
    percentile,   ///< at so many percent of the circuits only
    no,           ///< not even with typical parts, or in less than half of the circuits
};

struct Assessment {
    StaysOff stays_off = StaysOff::no;
    std::string headline;            ///< whether it does, as a sentence with its margin
    double stays_off_percent = 0.0;  ///< of the circuits drawn
    Transient typical;
    WorstCase worst;
    MonteCarlo drawn;
    double shortest_pulse = 0.0;  ///< s that is enough in the worst case; infinite for none
    SwitchOn on;                  ///< each field at its worst
    PinLoad pin;                  ///< at its worst
    SwitchLoad main;              ///< at its worst
    StandingCurrents currents;    ///< typical parts, at the highest temperature
    std::vector<Sensitivity> sensitivities;
    std::vector<ThresholdCell> thresholds;
    std::vector<Finding> findings;
    std::vector<WhatIf> what_ifs;
};

/// What findings go by: typical, worst, on, pin, main, currents, thresholds where some fail, and
/// the findings with a remedy in general words. Without `transient` as if it stayed off: that is
/// much quicker.
Assessment judged(const Circuit& circuit, bool transient = true);

/// All of it, or all but the advice. `circuits` are drawn with `seed`: the same for the same input.
Assessment assess(const Circuit& circuit,
                  unsigned circuits = 10'000,
                  std::uint64_t seed = 1,
                  bool advised = true);

/// What every output carries, a sentence each.
std::span<const std::string_view> cautions() noexcept;

std::string_view text_of(StaysOff stays_off) noexcept;

}  // namespace nightlatch::circuit
