// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/circuit/circuit.hpp"
#include "measured/compare.hpp"

#include <string>

namespace nightlatch::tool {

/// An oscilloscope's capture beside the circuit of a file.
struct WaveReport {
    std::string file;
    std::string wave;  ///< the capture's name
    const circuit::Circuit& circuit;
    const measured::Waves& waves;
    measured::Comparison comparison;
};

std::string wave_text(const WaveReport& report, const page::Style& style);
std::string wave_json(const WaveReport& report);

/// A panel for each curve that was captured: measured, typical and worst, and the computed band.
std::string wave_picture(const WaveReport& report);

/// The command with --wave. 0: everything measured is as computed; 1: a finding; 2: the capture
/// cannot be read.
int run_wave(const CircuitOptions& options,
             const std::string& file,
             const circuit::Circuit& circuit);

}  // namespace nightlatch::tool
