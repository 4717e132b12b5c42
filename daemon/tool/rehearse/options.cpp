// SPDX-License-Identifier: MIT
#include "daemon/tool/rehearse/rehearse.hpp"

namespace nightlatch::tool {
namespace {

constexpr const char* rehearse_footer = R"(
Examples:
  nightlatch rehearse                       this unit's configuration, the built-in presses
  nightlatch rehearse --config draft.toml pontoon-day.presses.toml
                                            a draft and a press script, on any machine
  nightlatch rehearse --svg day.svg day.presses.toml
                                            the same as a timing diagram
  nightlatch rehearse --wave scope.vcd --signal BTN
                                            what a logic analyser recorded of the button
  nightlatch rehearse --expect day.presses.toml
                                            a test: does what the script expects happen?
  nightlatch rehearse --print-expect day.presses.toml >>day.presses.toml
                                            keep what happens now as what is expected

Privileges: none. Time is virtual, the chip and the login manager are simulated: no device is
opened, and this machine is not asked to do anything.

Exit status: 0 fine, 1 an expectation is not met, 2 the command line is wrong, a file cannot be read
or understood, or what was asked for could not be written.)";

}  // namespace

void describe_rehearse(Options& options, RehearseOptions& into) {
    options
        .text(
            "SCRIPT", into.script, "The press script (default: presses made for the configuration)")
        .config(into.config)
        .text("--wave FILE", into.wave, "Take the button from a VCD or CSV capture; - for a pipe");
    describe_wave_choice(options, into.of_wave);
    options.text("--svg FILE", into.svg, "Draw a timing diagram")
        .flag("--narrow", into.narrow, "Draw it narrow, to be read on a phone")
        .needs("--svg")
        .text("--vcd FILE", into.vcd, "Write the waveforms (IEEE 1364 VCD)")
        .flag("--all", into.all, "Every edge, and what the core noted")
        .flag("--json", into.json, "Answer in JSON")
        .flag("--expect", into.expect, "Say only whether the script's expectations are met")
        .excludes("--json")
        .flag("--print-expect", into.print_expect, "Print expectations that are met now")
        .excludes("--json")
        .excludes("--expect")
        .footer(rehearse_footer);
}

}  // namespace nightlatch::tool
