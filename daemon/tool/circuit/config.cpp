// SPDX-License-Identifier: MIT
#include "daemon/tool/circuit/config.hpp"

#include "base/text.hpp"

#include <algorithm>

namespace nightlatch::tool {

config::Diagnostics circuit_diagnostics(const config::LoadedCircuit& loaded,
                                        const circuit::CircuitRead& read) {
    const config::CircuitSection& section = *loaded.section;
    const auto is_told = [&](const std::string& key) {
        return std::any_of(loaded.diagnostics.begin(),
                           loaded.diagnostics.end(),
                           [&](const config::Diagnostic& one) { return one.key == key; });
    };
    config::Diagnostics found;
    found.reserve(read.problems.size() + 1);
    for (const circuit::Problem& problem : read.problems) {
        if (is_told("circuit." + problem.key)) {
            continue;
        }
        // No value stands at the very beginning of a file: that is the place of what is not there.
        const bool missing = problem.place == Place{};
        found.push_back({Severity::error,
                         missing ? section.place : Place{problem.place.line, problem.place.column},
                         "circuit." + problem.key,
                         safe(problem.text)});
    }
    // One line a value would bury what is wrong elsewhere.
    if (const std::size_t count = read.assumptions.size(); count > 0 && read.problems.empty()) {
        found.push_back({Severity::note,
                         section.place,
                         "circuit",
                         std::to_string(count) + (count == 1 ? " value is" : " values are") +
                             " not stated, and assumed; nightlatch circuit --all says which"});
    }
    std::stable_sort(
        found.begin(), found.end(), [](const config::Diagnostic& a, const config::Diagnostic& b) {
            return a.place < b.place;
        });
    return found;
}

}  // namespace nightlatch::tool
