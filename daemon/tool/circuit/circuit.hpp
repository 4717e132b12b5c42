// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/assessment.hpp"
#include "circuit/assumed.hpp"
#include "daemon/tool/check/check.hpp"
#include "hold_up/assess.hpp"
#include "page/page.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::tool {

struct CircuitOptions {
    std::optional<std::string> config;  ///< without one, the file that the service reads
    bool json = false;
    bool netlist = false;
    bool starter = false;
    bool no_advice = false;
    bool all = false;                  ///< every sensitivity and assumption
    std::optional<std::string> svg;    ///< where the picture goes
    std::optional<double> percentile;  ///< be content with so many percent of the circuits
    std::uint64_t seed = 1;
    std::optional<std::string> wave;  ///< a capture of an oscilloscope …
    std::string line;                 ///< … with columns of these names; "": not captured
    std::string hold;
    std::string rail;
    std::string probe = "10 Mohm";  ///< across the hold capacitor
};

constexpr int circuit_json_version = 3;

struct CircuitReport {
    std::string file;
    circuit::Circuit circuit;
    circuit::Assessment assessment;
    std::vector<circuit::Assumption> assumptions;
    std::optional<hold_up::Assessed> hold_up;  ///< its findings are the assessment's, too
    std::vector<std::string> hold_up_assumptions;
    std::optional<double> percentile;
    bool all = false;
};

/// Nobody asked for more than this many percent of the circuits, and so many stay off.
bool percentile_is_met(const CircuitReport& report);

/// The findings that count: what fails only at corners which the percentile leaves out does not.
std::vector<circuit::Finding> counted_findings(const CircuitReport& report);

/// The whole human answer, the verdict with the next action first.
std::string circuit_text(const CircuitReport& report, const page::Style& style);

/// The same for programs; see nightlatch-circuit(1). SI units.
std::string circuit_json(const CircuitReport& report);

/// Capacitor, rail and line against time, at the worst corner and with typical parts.
std::string circuit_picture(const CircuitReport& report);

/// 0 fine, 1 a finding.
int circuit_status(const CircuitReport& report);

/// What `circuit` can be told.
void describe_circuit(Options& options, CircuitOptions& into);

/// The command as a whole. 2: the file cannot be read, or the circuit in it is wrong.
int run_circuit(const CircuitOptions& options);

}  // namespace nightlatch::tool
