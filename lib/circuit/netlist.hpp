// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

#include <string>

namespace nightlatch::circuit {

/// A deck for SPICE (ngspice's dialect: behavioural sources) with its own diode and transistors,
/// fitted to the same values: the run that `simulate` computes. Nodes: supply, rail, hold, line,
/// drive (the main switch's). `wrdata` writes `output`: time, rail, hold, drive.
std::string netlist(const Values& values, const std::string& output = "nightlatch.txt");

}  // namespace nightlatch::circuit
