// SPDX-License-Identifier: MIT
#include "audit/against_circuit.hpp"

#include "audit/needed_pulse.hpp"
#include "base/duration_text.hpp"
#include "base/text.hpp"

#include <algorithm>
#include <cmath>

namespace nightlatch::audit {
namespace {

using Weight = circuit::Finding::Weight;

/// [circuit] line_active; high where it is not stated.
bool is_active_low(const circuit::Circuit& circuit) {
    return std::any_of(
        circuit.stated.begin(), circuit.stated.end(), [](const circuit::Setting& one) {
            return one.key == "line_active" && one.text == "low";
        });
}

std::string level(bool low) {
    return low ? "low" : "high";
}

std::string active(bool low) {
    return "active = " + in_quotes(level(low));
}

}  // namespace

std::vector<circuit::Finding> against_circuit(const config::PostHalt& post_halt,
                                              const circuit::Circuit& circuit,
                                              double shortest_pulse) {
    std::vector<circuit::Finding> found;
    const bool low = is_active_low(circuit);
    if (post_halt.active_low && *post_halt.active_low != low) {
        found.push_back({Weight::failure,
                         "post-halt-polarity",
                         "[post_halt] states " + active(!low) +
                             ", and by [circuit] the supply disconnects while the line is " +
                             level(low) +
                             ": a running board would be cut off, or one that has halted never.",
                         active(low) + " in [post_halt] if the circuit is as [circuit] says"});
    }
    if (post_halt.pulse && std::isfinite(shortest_pulse) &&
        *post_halt.pulse < pulse_of(shortest_pulse)) {
        const std::string needed = to_text(pulse_of(shortest_pulse));
        found.push_back({Weight::warning,
                         "post-halt-pulse",
                         "[post_halt] states a pulse of " + to_text(*post_halt.pulse) +
                             ", and by [circuit] the worst corner needs " + needed + ".",
                         "pulse = " + in_quotes(needed) +
                             " in [post_halt], or leave it out: it is then taken from [circuit]"});
    }
    return found;
}

}  // namespace nightlatch::audit
