// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

#include <string>

namespace nightlatch::circuit {

/// What stands for diode and transistors in a netlist.
enum class Models : unsigned char {
    piecewise,  ///< what the transient computes with: switches and a piecewise-linear diode
    full,       ///< the simulator's own diode and square-law MOSFET, fitted to the same values
};

/// A deck for SPICE (ngspice's dialect: behavioural sources): the run
/// that `simulate` computes, from the first active level to a while after the hold-off. Nodes:
/// supply, gate, rail, latch, hold, line. `wrdata` writes `output`: time, rail, hold, gate drive.
std::string netlist(const Values& values,
                    Models models,
                    const std::string& output = "nightlatch.txt");

/// The same of a circuit with every part at its typical value.
std::string netlist(const Circuit& circuit, Models models);

/// V that the full model's release transistor needs beyond its VTO while the rail is up, and needs
/// less and less of as the rail falls.
double release_overdrive(const Values& values);

/// `values` with the thresholds at which the full models' transistors carry the currents that they
/// must carry in this circuit: data sheets state VGS(th) at 250 uA, the feed resistor wants less.
Values with_effective_thresholds(const Values& values);

}  // namespace nightlatch::circuit
