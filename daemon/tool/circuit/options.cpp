// SPDX-License-Identifier: MIT
#include "daemon/tool/circuit/circuit.hpp"

#include <limits>

namespace nightlatch::tool {
namespace {

constexpr const char* circuit_footer = R"(
Examples:
  nightlatch circuit                        the circuit in this unit's configuration
  nightlatch circuit draft.toml             a draft, on any machine; [circuit] is all it needs
  nightlatch circuit --starter              a [circuit] to fill in: five values will do
  nightlatch circuit --svg off.svg draft.toml
                                            what happens at switching off, as a picture
  nightlatch circuit --percentile 99.9 draft.toml
                                            accept when 999 of 1,000 circuits stay off
  nightlatch circuit --netlist draft.toml >draft.cir
                                            the worst corner for a SPICE simulator
  nightlatch circuit --wave scope.csv --line CH1 --hold CH2 --rail CH3 --svg beside.svg
                                            what an oscilloscope saw, beside what is computed

Privileges: none. It only computes.

Exit status: 0 fine, 1 something was found, 2 the command line is wrong, a file cannot be read or
understood, or what was asked for could not be written.)";

}  // namespace

void describe_circuit(Options& options, CircuitOptions& into) {
    options
        .config_or_argument(into.config,
                            "The configuration with [circuit] (default: the service's own)")
        .flag("--json", into.json, "Answer in JSON")
        .text("--svg FILE", into.svg, "Draw capacitor, rail and line against time")
        .flag("--netlist", into.netlist, "Print the worst corner for SPICE, nothing else")
        .excludes("--json")
        .excludes("--svg")
        .flag("--starter", into.starter, "Print a [circuit] to fill in, nothing else")
        .excludes("--json")
        .excludes("--svg")
        .excludes("--netlist")
        .number("--percentile P",
                {50.0, 100.0},
                into.percentile,
                "Accept when this percentage of circuits stays off, 50 to 100")
        .number("--seed N",
                Range{std::uint64_t{0}, std::numeric_limits<std::uint64_t>::max()},
                into.seed,
                "Seed of the circuits drawn at random (default: 1)")
        .flag("--all", into.all, "Every part's influence, and what was assumed")
        .flag("--no-advice", into.no_advice, "Judge only: no advice, which takes the longest")
        .text(
            "--wave FILE", into.wave, "Compare with an oscilloscope's capture (CSV); - for a pipe")
        .excludes("--netlist")
        .text("--line NAME", into.line, "The capture's column of the post-halt line")
        .needs("--wave")
        .text("--hold NAME", into.hold, "Its column of the hold capacitor")
        .needs("--wave")
        .text("--rail NAME", into.rail, "Its column of the rail")
        .needs("--wave")
        .text("--probe OHM",
              into.probe,
              "Resistance of the probe at the hold capacitor (default: 10 Mohm)")
        .needs("--wave")
        .footer(circuit_footer);
}

}  // namespace nightlatch::tool
