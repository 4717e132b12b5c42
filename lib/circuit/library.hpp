// SPDX-License-Identifier: MIT
#pragma once

#include "base/text.hpp"
#include "circuit/circuit.hpp"

#include <algorithm>
#include <span>
#include <string_view>

namespace nightlatch::circuit {

/// A published value and where it is published. "common practice, no source" where there is none.
template <class T>
struct Published {
    T value{};
    std::string_view source;
};

/// A small transistor as its data sheet has it, limits at 25 °C; P-channel values as magnitudes.
struct LibraryTransistor {
    enum class Kind : unsigned char { n_channel, p_channel, npn };

    std::string_view name;
    Kind kind = Kind::n_channel;
    Published<Spread> threshold;       ///< V, gate-source or base-emitter
    Published<double> test_current;    ///< A at which that is published
    Published<Spread> gain;            ///< of a bipolar transistor, at a small current
    std::span<const OnResistance> on;  ///< by rising gate drive; saturated, of a bipolar transistor
    std::string_view on_source;
    Published<double> gate_limit;          ///< V; 0: not noted
    Published<double> drain_limit;         ///< V; 0: not noted
    Published<double> current_limit;       ///< A; 0: not noted
    Published<double> thermal_resistance;  ///< K/W; 0: not noted
};

/// A small diode: its published drops are maxima, the least and typical leakage common practice.
struct LibraryDiode {
    std::string_view name;
    std::span<const DropPoint> drops;
    std::string_view drop_source;
    Published<Spread> leakage;  ///< A at 25 °C
};

/// What a kind of capacitor adds to its printed value.
struct CapacitorClass {
    std::string_view name;
    Published<double> tolerance;    ///< fraction both ways, unless the value's own is stated
    Published<double> temperature;  ///< fraction both ways over its temperature range
    Published<double> bias_loss;    ///< fraction lost under DC bias at most
    Published<double> leakage;      ///< A for each F and V, at most
    double least_leakage = 0.0;     ///< A: "or so much, whichever is larger"
};

std::span<const LibraryTransistor> library_transistors() noexcept;
std::span<const LibraryDiode> library_diodes() noexcept;
std::span<const CapacitorClass> capacitor_classes() noexcept;

/// The part of this name, in capitals or small letters; nothing when there is none.
template <class Part>
const Part* find_part(std::span<const Part> parts, std::string_view name) noexcept {
    const auto found = std::find_if(parts.begin(), parts.end(), [name](const Part& part) {
        return same_but_for_case(part.name, name);
    });
    return found == parts.end() ? nullptr : &*found;
}

/// The name as the library spells it; what is not in the library as it is.
std::string_view spelling_of(std::string_view name) noexcept;

/// A capacitor of this class: tolerance (its own if `stated`), temperature and DC bias together.
Spread effective_capacitance(const CapacitorClass& kind, Spread printed, bool stated);

/// Its leakage at so many volts.
Spread capacitor_leakage(const CapacitorClass& kind, double farads, double volts);

/// The tolerance of a resistor whose value is stated without one: 5 % (common practice, no source).
constexpr double resistor_tolerance = 0.05;

}  // namespace nightlatch::circuit
