// SPDX-License-Identifier: MIT
#include "daemon/tool/circuit/config.hpp"

#include "audit/needed_pulse.hpp"
#include "base/text.hpp"
#include "daemon/tool/circuit/hold_up.hpp"

#include <algorithm>
#include <string>
#include <vector>

namespace nightlatch::tool {
namespace {

/// Adds what was found in one section, whose header is at `place`.
class SectionDiagnostics {
public:
    SectionDiagnostics(std::string name, Place place, CircuitFile& file)
        : name_(std::move(name)), place_(place), found_(file.of_values), told_(file.of_text) {}

    void add(const std::vector<circuit::Problem>& problems, std::size_t assumed) {
        for (const circuit::Problem& problem : problems) {
            add_problem(problem);
        }
        // One line a value would bury what is wrong elsewhere.
        if (assumed > 0 && problems.empty()) {
            found_.push_back({Severity::note,
                              place_,
                              name_,
                              std::to_string(assumed) +
                                  (assumed == 1 ? " value is" : " values are") +
                                  " not stated, and assumed; nightlatch circuit --all says which"});
        }
    }

private:
    /// Of a key that the reader of the configuration told of no more is said.
    void add_problem(const circuit::Problem& problem) {
        const std::string key = "circuit." + problem.key;
        if (std::any_of(told_.begin(), told_.end(), [&](const config::Diagnostic& one) {
                return one.key == key;
            })) {
            return;
        }
        // No value stands at the very beginning of a file: that is the place of what is not there.
        const bool missing = problem.place == Place{};
        found_.push_back(
            {Severity::error, missing ? place_ : problem.place, key, safe(problem.text)});
    }

    std::string name_;
    Place place_;
    config::Diagnostics& found_;
    const config::Diagnostics& told_;
};

/// The problems but values that are missing: these are one warning, since nothing is wrong.
std::vector<circuit::Problem> told_apart(std::vector<circuit::Problem> problems,
                                         Place place,
                                         config::Diagnostics& found) {
    std::string keys;
    for (const circuit::Problem& one : problems) {
        if (one.place == Place{}) {
            keys += (keys.empty() ? "" : ", ") + one.key;
        }
    }
    if (!keys.empty()) {
        found.push_back({Severity::warning,
                         place,
                         "circuit",
                         "not known yet whether the supply stays off: " + keys +
                             (keys.find(',') == std::string::npos ? " is" : " are") +
                             " missing; nightlatch circuit says what decides, and --starter prints "
                             "what is common"});
    }
    std::erase_if(problems, [](const circuit::Problem& one) { return one.place == Place{}; });
    return problems;
}

}  // namespace

void sort_by_place(config::Diagnostics& found) {
    std::stable_sort(
        found.begin(), found.end(), [](const config::Diagnostic& a, const config::Diagnostic& b) {
            return a.place < b.place;
        });
}

CircuitFile read_circuit_file(std::string_view text) {
    config::LoadedCircuit loaded = config::load_circuit(text);
    CircuitFile file;
    file.of_text = std::move(loaded.diagnostics);
    if (!loaded.section) {
        return file;
    }
    const config::CircuitSection& section = *loaded.section;
    file.there = true;
    file.section = section;
    file.post_halt = config::load_post_halt(text);
    const bool own = std::any_of(section.texts.begin(), section.texts.end(), [](const auto& one) {
        return !one.key.starts_with(config::hold_up_prefix);
    });
    if (own || !section.hold_up) {
        file.circuit = audit::read_section(section);
        SectionDiagnostics("circuit", section.place, file)
            .add(told_apart(file.circuit->problems, section.place, file.of_values),
                 file.circuit->assumptions.size());
    }
    if (section.hold_up) {
        file.hold_up = read_hold_up(section, text);
        SectionDiagnostics("circuit.hold_up", *section.hold_up, file)
            .add(file.hold_up->problems, file.hold_up->assumptions.size());
    }
    sort_by_place(file.of_values);
    return file;
}

}  // namespace nightlatch::tool
