// SPDX-License-Identifier: MIT
#pragma once

#include "wave/capture.hpp"

#include <string>

namespace nightlatch::test {

/// "low 2000 high 5000 low; end 9000": levels and nanoseconds; "nothing" without a capture.
inline std::string edges_of(const wave::CaptureRead& read) {
    if (!read.capture) {
        return "nothing";
    }
    const auto word = [](Level level) { return level == Level::active ? "high" : "low"; };
    std::string text = word(read.capture->at_start);
    for (const wave::CapturedEdge& edge : read.capture->edges) {
        text += " " + std::to_string(edge.at.count()) + " " + word(edge.level);
    }
    return text + "; end " + std::to_string(read.capture->end.count());
}

/// A line each: "3:5: error: sentence".
inline std::string problems_of(const wave::CaptureRead& read) {
    std::string text;
    for (const wave::Problem& problem : read.problems) {
        text += std::to_string(problem.line) + ":" + std::to_string(problem.column) +
                (problem.error ? ": error: " : ": warning: ") + problem.text + "\n";
    }
    return text;
}

}  // namespace nightlatch::test
