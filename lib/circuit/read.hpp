// SPDX-License-Identifier: MIT
#pragma once

#include "base/place.hpp"
#include "circuit/assumed.hpp"
#include "circuit/circuit.hpp"

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::circuit {

/// One key of the configuration's `[circuit]` and its text, whatever the file's format is.
struct NamedText {
    std::string key;
    std::string text;
    Place place;
};

struct Problem {
    Place place;
    std::string key;
    std::string text;  ///< one sentence: what is wrong and what is allowed
};

struct CircuitRead {
    std::optional<Circuit> circuit;  ///< when there is no problem
    std::vector<Problem> problems;   ///< all of them, by place
    std::vector<Assumption> assumptions;
};

/// Keys: those of `parameters()` with a spread each ("22 uF +-20 %", "none" where a part may be
/// left out), and
///   main_switch, latch_transistor, release_transistor, diode   a part of the library by name
///   diode_drop            "240 mV at 100 uA, 320 mV at 1 mA": own drops, in the place of a part's
///   main_on_resistance    "85 mohm at 2.5 V, 60 mohm at 4.5 V"
///   main_gate_limit, main_drain_limit, main_current_limit, main_thermal_resistance
///   latch_gate_limit, latch_drain_limit, release_gate_limit, release_drain_limit
///   resistor_rating and the other rating_keys()
///   hold_capacitor_class  X7R, X5R, electrolytic or film
///   wire_gauge, wire_length    in the place of wire_resistance: "22 AWG", one way
///   active_delay, inactive_delay, timeout    of the kernel's pulses
///   board_minimum, battery, margin, supply_rise    what is asked of the whole
/// Own values override a part's. An unknown key names the nearest known one.
CircuitRead read_circuit(std::span<const NamedText> texts);

/// Every key that read_circuit knows.
std::vector<std::string_view> circuit_keys();

}  // namespace nightlatch::circuit
