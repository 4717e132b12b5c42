// SPDX-License-Identifier: MIT
#include "daemon/tool/circuit/options.hpp"

#include <CLI/CLI.hpp>

namespace nightlatch::tool {
namespace {

constexpr const char* circuit_footer = R"(
Examples:
  nightlatch circuit                        the circuit in this unit's configuration
  nightlatch circuit draft.toml             a draft, on any machine; [circuit] is all it needs
  nightlatch circuit --svg off.svg draft.toml
                                            what happens at switching off, as a picture
  nightlatch circuit --percentile 99.9 draft.toml
                                            be content when 999 of 1,000 circuits stay off
  nightlatch circuit --netlist draft.toml >draft.cir
                                            the worst corner for a SPICE simulator

Privileges: none. It only computes.

Exit status: 0 fine, 1 something was found, 2 the command line is wrong, or a file cannot be read,
written or understood.)";

}  // namespace

void add_circuit(CLI::App& app, CircuitOptions& options) {
    CLI::App* circuit = app.add_subcommand(
        "circuit", "Will the supply let go, stay off and come on again, at the worst corner?");
    circuit->add_option(
        "FILE", options.file, "The configuration with [circuit] (default: the service's own)");
    CLI::Option* json = circuit->add_flag("--json", options.json, "Answer in JSON");
    CLI::Option* svg =
        circuit->add_option("--svg", options.svg, "Draw capacitor, rail and line against time")
            ->type_name("FILE");
    circuit
        ->add_flag("--netlist", options.netlist, "Print the worst corner for SPICE, nothing else")
        ->excludes(json)
        ->excludes(svg);
    circuit
        ->add_option("--percentile", options.percentile, "So many percent of the circuits will do")
        ->type_name("P")
        ->check(CLI::Range(50.0, 100.0));
    circuit->add_option("--seed", options.seed, "Of the circuits drawn at random (default: 1)")
        ->type_name("N");
    circuit->add_flag("--all", options.all, "Every part's influence, and what was assumed");
    circuit->footer(circuit_footer);
}

}  // namespace nightlatch::tool
