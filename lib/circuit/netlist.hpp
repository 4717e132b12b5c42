// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

#include <string>

namespace nightlatch::circuit {

/// What stands for diode and transistors in a netlist.
enum class Models : unsigned char {
    piecewise,  ///< what the transient computes with: switches and a piecewise-linear diode
    full,       ///< the simulator's own diode and transistors, fitted to the same values
};

/// A deck for SPICE (ngspice's dialect: behavioural sources): the run
/// that `simulate` computes, from the first active level to a while after the hold-off. Nodes:
/// supply, rail, hold, line, drive (the main switch's). `wrdata` writes `output`: time, rail, hold,
/// drive.
std::string netlist(const Values& values,
                    Models models,
                    const std::string& output = "nightlatch.txt");

/// The same of a circuit with every part at its typical value.
std::string netlist(const Circuit& circuit, Models models);

}  // namespace nightlatch::circuit
