// SPDX-License-Identifier: MIT
#include "daemon/tool/circuit_config.hpp"

#include <algorithm>

namespace nightlatch::tool {

config::Diagnostics circuit_diagnostics(const config::CircuitSection& section,
                                        const circuit::CircuitRead& read) {
    config::Diagnostics found;
    found.reserve(read.problems.size() + read.assumptions.size());
    for (const circuit::Problem& problem : read.problems) {
        // No value stands at the very beginning of a file: that is the place of what is not there.
        const bool missing = problem.place == circuit::Place{};
        found.push_back(
            {config::Severity::error,
             missing ? section.place : config::Place{problem.place.line, problem.place.column},
             "circuit." + problem.key,
             config::printable(problem.text)});
    }
    for (const std::string& assumption : read.assumptions) {
        found.push_back({config::Severity::note, section.place, "circuit", assumption});
    }
    std::stable_sort(
        found.begin(), found.end(), [](const config::Diagnostic& a, const config::Diagnostic& b) {
            return a.place < b.place;
        });
    return found;
}

}  // namespace nightlatch::tool
