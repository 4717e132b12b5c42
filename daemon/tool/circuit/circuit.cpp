// SPDX-License-Identifier: MIT
#include "daemon/tool/circuit/circuit.hpp"

#include "audit/needed_pulse.hpp"
#include "circuit/netlist.hpp"
#include "circuit/parameters.hpp"
#include "daemon/sys/config_file.hpp"
#include "daemon/tool/circuit/config.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <utility>

namespace nightlatch::tool {
namespace {

constexpr unsigned circuits_drawn = 10'000;

/// Findings about the worst corner alone, and so about circuits that a percentile may leave out.
constexpr std::array<std::string_view, 4> of_the_worst_corner{
    "never-on", "never-releases", "comes-back", "threshold-pairs"};

/// Everything that is wrong with the text, on standard error, by place.
void tell_all(config::Diagnostics found, const std::string& file) {
    std::stable_sort(
        found.begin(), found.end(), [](const config::Diagnostic& a, const config::Diagnostic& b) {
            return a.place < b.place;
        });
    for (const config::Diagnostic& one : found) {
        if (one.severity == Severity::error) {
            tell(config::to_text(one, file));
        }
    }
}

std::optional<circuit::CircuitRead> read_circuit_file(const std::string& file) {
    const auto text = sys::read_config_file(file, sys::TrustPolicy::anybody);
    if (!text) {
        complain(text.error().text);
        return std::nullopt;
    }
    const config::LoadedCircuit loaded = config::load_circuit(*text);
    config::Diagnostics found = loaded.diagnostics;
    if (!loaded.section) {
        tell_all(std::move(found), file);
        if (loaded.diagnostics.empty()) {
            complain(file +
                     " has no section [circuit]; nightlatch-circuit(1) says what goes into it");
        }
        return std::nullopt;
    }
    circuit::CircuitRead read = audit::read_section(*loaded.section);
    const config::Diagnostics of_values = circuit_diagnostics(loaded, read);
    found.insert(found.end(), of_values.begin(), of_values.end());
    tell_all(std::move(found), file);
    const bool good = read.circuit && !config::has_errors(loaded.diagnostics);
    return good ? std::optional(std::move(read)) : std::nullopt;
}

/// The deck of the corner that is closest to failing: that is the one to look at.
std::string worst_netlist(const circuit::Circuit& circuit) {
    return circuit::netlist(circuit::worst_case(circuit).values, circuit::Models::full);
}

}  // namespace

bool percentile_is_met(const CircuitReport& report) {
    return report.percentile && report.assessment.stays_off_percent >= *report.percentile;
}

std::vector<circuit::Finding> counted_findings(const CircuitReport& report) {
    std::vector<circuit::Finding> found = report.assessment.findings;
    if (percentile_is_met(report)) {
        std::erase_if(found, [](const circuit::Finding& one) {
            return std::find(of_the_worst_corner.begin(), of_the_worst_corner.end(), one.id) !=
                   of_the_worst_corner.end();
        });
    }
    return found;
}

int circuit_status(const CircuitReport& report) {
    if (report.assessment.stays_off != circuit::StaysOff::all_corners &&
        !percentile_is_met(report)) {
        return 1;
    }
    const std::vector<circuit::Finding> found = counted_findings(report);
    const bool any = std::any_of(found.begin(), found.end(), [](const circuit::Finding& one) {
        return one.weight != circuit::Finding::Weight::note;
    });
    return any ? 1 : 0;
}

int run_circuit(const CircuitOptions& options) {
    const std::string file = options.config.value_or(default_config);
    auto read = read_circuit_file(file);
    if (!read) {
        return no_answer;
    }
    if (options.netlist) {
        print(worst_netlist(*read->circuit));
        return 0;
    }
    CircuitReport report;
    report.file = file;
    report.circuit = std::move(*read->circuit);
    report.assumptions = std::move(read->assumptions);
    report.percentile = options.percentile;
    report.all = options.all;
    report.assessment = circuit::assess(report.circuit, circuits_drawn, options.seed);
    print(options.json ? circuit_json(report) : circuit_text(report, style_of_output()));
    if (options.svg) {
        if (const Outcome written = write_file(*options.svg, circuit_picture(report)); !written) {
            return complain(written.error().text, no_answer);
        }
    }
    return circuit_status(report);
}

}  // namespace nightlatch::tool
