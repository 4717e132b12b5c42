// SPDX-License-Identifier: MIT
#include "measured/computed.hpp"

#include "circuit/hold_node.hpp"
#include "circuit/rail_node.hpp"
#include "circuit/stages.hpp"
#include "circuit/transistor_law.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace nightlatch::measured {

using namespace circuit;

namespace {

/// Seconds until a node's voltage is `to`, through its own events.
template <class Node>
double time_to(Node& node, double to) {
    constexpr int most_events = 50;
    double total = 0.0;
    for (int i = 0; i < most_events; ++i) {
        const double there = node.stage().falls_to(node.voltage(), to);
        const auto next = node.next();
        if (there <= next.after) {
            return total + there;
        }
        total += next.after;
        node.move(next.after);
        node.pass(next.event);
    }
    return infinite;
}

}  // namespace

Spread range_over(const Circuit& circuit,
                  std::span<const std::string_view> keys,
                  const Compute& compute) {
    constexpr std::size_t most = 12;
    std::vector<std::size_t> spread;
    for (const std::string_view key : keys) {
        const auto index = parameter_named(key);
        if (index && spread.size() < most &&
            !(circuit.parts.*parameters()[*index].spread).is_exact()) {
            spread.push_back(*index);
        }
    }
    Position position = everything_typical();
    const double typical = compute(values_at(circuit, position));
    Spread range = Spread::exactly(typical);
    for (std::size_t corner = 0; corner < (std::size_t{1} << spread.size()); ++corner) {
        for (std::size_t i = 0; i < spread.size(); ++i) {
            position[spread[i]] = (corner >> i & 1) != 0 ? 1.0 : 0.0;
        }
        const double value = compute(values_at(circuit, position));
        range.least = std::min(range.least, value);
        range.most = std::max(range.most, value);
    }
    return range;
}

double decay_time(const Values& values, const Decay& decay, double probe) {
    Values probed = values;
    probed.parts.bleed_resistor = 1.0 / (1.0 / values.parts.bleed_resistor + 1.0 / probe);
    HoldNode node(probed, stages_of(probed));
    node.set_voltage(decay.from);
    node.set_line(0.0);
    return time_to(node, decay.to) / std::log(decay.from / decay.to);
}

double fall_rate(const Values& values, double from, double to) {
    RailNode node(values, stages_of(values));
    node.set_main_switch(false);
    node.set_released(true);
    node.set_voltage(from);
    return (from - to) / time_to(node, to);
}

double lets_go_at_least(const Values& values) {
    const Stages stages = stages_of(values);
    const Parts<double>& parts = values.parts;
    const double current = 0.5 * stages.latch_level / std::max(parts.feed_resistor, 1.0);
    const auto law = parts.release_gain > 0.0 ? &TransistorLaw::bipolar : &TransistorLaw::mosfet;
    const TransistorLaw release = law(parts.release_threshold, values.release, parts.temperature);
    return std::min(stages.release_level, release.control(current));
}

}  // namespace nightlatch::measured
