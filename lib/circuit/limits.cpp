// SPDX-License-Identifier: MIT
#include "circuit/limits.hpp"

#include <array>

namespace nightlatch::circuit {
namespace {

struct Row {
    const char* transistor;
    bool gate;
    double volts;
    double limit;  ///< 0: not known
};

/// With its pull-down the latch's gate gets a part of the rail only.
double latch_gate(const Parts<Spread>& parts) {
    const double pull = parts.latch_pull.most;
    const double share = pull == infinite ? 1.0 : pull / (pull + parts.feed_resistor.least);
    return parts.supply_voltage.most * share;
}

}  // namespace

std::vector<OverLimit> over_limits(const Circuit& circuit) {
    const double supply = circuit.parts.supply_voltage.most;
    const std::array rows{
        Row{"the main switch", false, supply, circuit.main_switch.drain_limit},
        Row{"the latch transistor", true, latch_gate(circuit.parts), circuit.latch.gate},
        Row{"the latch transistor", false, supply, circuit.latch.drain},
        Row{"the release transistor", true, circuit.parts.line_high.most, circuit.release.gate},
        Row{"the release transistor", false, latch_gate(circuit.parts), circuit.release.drain}};
    std::vector<OverLimit> over;
    for (const Row& row : rows) {
        if (row.limit > 0.0 && row.volts > row.limit) {
            over.push_back({row.gate, row.transistor, row.volts, row.limit});
        }
    }
    return over;
}

}  // namespace nightlatch::circuit
