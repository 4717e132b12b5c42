// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/circuit/circuit.hpp"

#include <string>
#include <string_view>
#include <vector>

/// Words and sentences about a circuit's numbers.
namespace nightlatch::tool {

/// Three significant digits; "never" for an infinite time, "none" for what else is infinite.
std::string value_text(double value, circuit::Unit unit);

/// "420 ms", "for ever"; "none" when it does not switch off for good.
std::string margin_text(double margin);
std::string rail_margin_text(const circuit::Transient& transient);

std::string outcome_word(const circuit::Transient& transient);
std::string pulse_word(unsigned pulse);
std::string_view weight_word(circuit::Finding::Weight weight);

/// The one thing to do now.
std::string next_action(const CircuitReport& report);
std::string percentile_sentence(const CircuitReport& report);
std::string drawn_sentence(const circuit::Assessment& assessment);
std::string assumed_sentence(const CircuitReport& report);

std::string pin_sentence(const CircuitReport& report);
std::string switch_sentence(const CircuitReport& report);
std::string board_sentence(const CircuitReport& report);
std::string off_sentence(const CircuitReport& report);
std::string on_sentence(const CircuitReport& report);
std::string press_sentence(const CircuitReport& report);
std::string return_sentence(const CircuitReport& report);
std::string boot_sentence(const CircuitReport& report);

}  // namespace nightlatch::tool
