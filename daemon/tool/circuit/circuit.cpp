// SPDX-License-Identifier: MIT
#include "daemon/tool/circuit/circuit.hpp"

#include "audit/against_circuit.hpp"
#include "circuit/netlist.hpp"
#include "daemon/sys/config_file.hpp"
#include "daemon/tool/circuit/config.hpp"
#include "daemon/tool/circuit/hold_up.hpp"
#include "daemon/tool/circuit/starter.hpp"
#include "daemon/tool/circuit/wave.hpp"
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

/// Nothing, and told on standard error, when a value is wrong or there is none.
std::optional<CircuitFile> read_file(const std::string& name) {
    const auto text = sys::read_config_file(name, sys::TrustPolicy::anybody);
    if (!text) {
        complain(text.error().text);
        return std::nullopt;
    }
    CircuitFile file = read_circuit_file(*text);
    config::Diagnostics found = file.of_text;
    found.insert(found.end(), file.of_values.begin(), file.of_values.end());
    sort_by_place(found);
    for (const config::Diagnostic& one : found) {
        // A value that is missing is told with what is wrong, and else by the answer.
        if (one.severity == Severity::error ||
            (one.severity == Severity::warning && config::has_errors(found))) {
            tell(config::to_text(one, name));
        }
    }
    if (config::has_errors(found)) {
        return std::nullopt;
    }
    if (!file.there) {
        complain(name + " has no section [circuit]; nightlatch-circuit(1) says what goes into it");
        return std::nullopt;
    }
    return file;
}

void take_in(const std::vector<circuit::Finding>& more, CircuitReport& report) {
    std::vector<circuit::Finding>& found = report.assessment.findings;
    found.insert(found.end(), more.begin(), more.end());
    std::stable_sort(found.begin(), found.end(), [](const auto& one, const auto& other) {
        return one.weight < other.weight;
    });
}

/// The hold-up's findings among the circuit's, failures first.
void take_in(hold_up::HoldUpRead& read, CircuitReport& report) {
    report.hold_up = hold_up::assess(*read.hold_up, read.notice);
    report.hold_up_assumptions = read.assumptions;
    take_in(report.hold_up->findings, report);
}

/// 1, since nothing is wrong with the values that are there.
int answer_unknown(const UnknownCircuit& unknown,
                   const CircuitOptions& options,
                   const std::string& name) {
    if (options.netlist || options.svg) {
        return complain(name + " has not all values yet; nightlatch circuit " + name +
                            " says which are missing",
                        no_answer);
    }
    print(options.json ? unknown_json(unknown, name) : unknown_text(unknown, style_of_output()));
    return 1;
}

/// The deck of the corner that is closest to failing: that is the one to look at.
std::string worst_netlist(const circuit::Circuit& circuit) {
    return circuit::netlist(circuit::worst_case(circuit).values);
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
    if (options.starter) {
        print(starter());
        return 0;
    }
    const std::string name = options.config.value_or(default_config);
    auto file = read_file(name);
    if (!file) {
        return no_answer;
    }
    if (!file->circuit) {
        return run_hold_up(options, name, *file->hold_up);
    }
    if (const auto unknown = unknown_in(*file->section, *file->circuit)) {
        return answer_unknown(*unknown, options, name);
    }
    if (options.wave) {
        return run_wave(options, name, *file->circuit->circuit);
    }
    if (options.netlist) {
        print(worst_netlist(*file->circuit->circuit));
        return 0;
    }
    CircuitReport report;
    report.file = name;
    report.circuit = std::move(*file->circuit->circuit);
    report.assumptions = std::move(file->circuit->assumptions);
    report.percentile = options.percentile;
    report.all = options.all;
    report.assessment =
        circuit::assess(report.circuit, circuits_drawn, options.seed, !options.no_advice);
    take_in(
        audit::against_circuit(file->post_halt, report.circuit, report.assessment.shortest_pulse),
        report);
    if (file->hold_up) {
        take_in(*file->hold_up, report);
    }
    print(options.json ? circuit_json(report) : circuit_text(report, style_of_output()));
    if (options.svg) {
        if (const Outcome written = write_file(*options.svg, circuit_picture(report)); !written) {
            return complain(written.error().text, no_answer);
        }
    }
    return circuit_status(report);
}

}  // namespace nightlatch::tool
