// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "daemon/tool/options.hpp"
#include "wave/capture.hpp"

#include <optional>
#include <string>

namespace nightlatch::tool {

/// What a person says of a capture.
struct WaveChoice {
    std::string signal;                    ///< "": its only one
    std::optional<std::string> threshold;  ///< of voltages, as wave::parse_thresholds()
};

/// What to call a capture's file: "standard input" for "-" and /dev/stdin.
std::string wave_name(const std::string& path);

/// The text of a capture's file, a pipe or standard input, to its end. At most 256 MiB.
Result<std::string> read_wave_text(const std::string& path);

/// Reads a capture of any format that wave::formats() has from a file, a pipe or standard input, to
/// its end, waiting for whoever writes a pipe. At most 256 MiB. What is
/// wrong with its text is in the capture's problems; an error says why the file cannot be read, or
/// that the threshold is none.
Result<wave::CaptureRead> read_wave_file(const std::string& path, const WaveChoice& choice);

/// --signal and --threshold, beside --wave.
void describe_wave_choice(Options& options, WaveChoice& into);

/// "FILE:LINE:COLUMN: error: SENTENCE".
std::string problem_text(const wave::Problem& problem, const std::string& path);

}  // namespace nightlatch::tool
