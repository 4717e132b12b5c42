// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

#include <array>
#include <optional>
#include <span>
#include <string_view>

namespace nightlatch::circuit {

/// What leaving the part out means; `required`: it cannot be left out.
enum class Absent : unsigned char { required, infinite_value, zero };

/// The stage that a number belongs to: a circuit without it needs no such number and takes none.
enum class Of : unsigned char {
    every,
    driven_line,  ///< push-pull, active high
    pulled_line,  ///< open-drain or active low
    inverter,     ///< active low
    bipolar_release,
    bipolar_latch,
    bipolar_button,
    gate,  ///< of a main switch, with its latch transistor
    enable_pin,
};

constexpr std::size_t stage_count = 9;

/// Which end of a parameter makes the margin smaller whatever the others are. `depends`: searched,
/// inside the spread too; `neither`: it has no part in the transient.
enum class BadEnd : unsigned char { least, most, depends, neither };

/// One number of the circuit, as people and computations find it.
struct Parameter {
    std::string_view key;    ///< in a configuration: "bleed_resistor"
    std::string_view words;  ///< in a sentence: "the bleed resistor"
    Unit unit;
    Range range;    ///< what is plausible
    Absent absent;  ///< what "none" means
    Of of;
    BadEnd bad;
    Spread Parts<Spread>::*spread;
    double Parts<double>::*value;
};

constexpr std::size_t parameter_count = 51;

/// In the order of `Parts`.
std::span<const Parameter, parameter_count> parameters() noexcept;

/// The index in `parameters()`.
std::optional<std::size_t> parameter_named(std::string_view key) noexcept;

/// Where in its spread each parameter is: 0 least, 0.5 typical, 1 largest.
using Position = std::array<double, parameter_count>;

constexpr double place_of(BadEnd bad) {
    return bad == BadEnd::least ? 0.0 : bad == BadEnd::most ? 1.0 : 0.5;
}

constexpr Position everything_typical() {
    Position position{};
    position.fill(0.5);
    return position;
}

/// The exact circuit at a position: thresholds, drops and leakages at the position's temperature.
Values values_at(const Circuit& circuit, const Position& position);

/// RDS(on) that is published for at most this gate drive, at 25 °C: straight in between; below
/// the lowest published drive it is only as good as a guess: infinite at `threshold`, and rising
/// towards it as the channel's charge falls (inversely with the drive above the threshold).
double on_resistance(const MainSwitch& main_switch, double gate_drive, double threshold);

/// Of an exact circuit at 25 °C, at most 1 kohm: with an enable pin the first that is published.
double on_resistance(const MainSwitch& main_switch, const Parts<double>& parts);

}  // namespace nightlatch::circuit
