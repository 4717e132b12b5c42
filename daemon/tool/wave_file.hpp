// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "wave/capture.hpp"

#include <string>

namespace nightlatch::tool {

/// Reads a capture from a file of any format that wave::formats() has. At most 256 MiB. What is
/// wrong with its text is in the capture's problems; an error says why the file cannot be read.
Result<wave::CaptureRead> read_wave_file(const std::string& path, const std::string& signal);

/// "FILE:LINE:COLUMN: error: SENTENCE".
std::string problem_text(const wave::Problem& problem, const std::string& path);

}  // namespace nightlatch::tool
