// SPDX-License-Identifier: MIT
#include "daemon/tool/rehearse/options.hpp"

#include <CLI/CLI.hpp>

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
                                            a test: is what the script expects what happens?
  nightlatch rehearse --print-expect day.presses.toml >>day.presses.toml
                                            keep what happens now as what is expected

Privileges: none. Time is virtual, the chip and the login manager are simulated: nothing is opened,
and nothing is asked of this machine.

Exit status: 0 fine, 1 an expectation is not met, 2 the command line is wrong, or a file cannot be
read, written or understood.)";

}  // namespace

void add_rehearse(CLI::App& app, RehearseOptions& options) {
    CLI::App* rehearse =
        app.add_subcommand("rehearse", "Play presses on a configuration and see what it does");
    rehearse->add_option(
        "SCRIPT", options.script, "The press script (default: presses made for the configuration)");
    rehearse
        ->add_option("--config", options.config, "The configuration (default: the service's own)")
        ->type_name("FILE");
    CLI::Option* wave =
        rehearse->add_option("--wave", options.wave, "Take the button from a VCD or CSV capture")
            ->type_name("FILE");
    rehearse->add_option("--signal", options.signal, "The capture's signal (default: its only one)")
        ->type_name("NAME")
        ->needs(wave);
    rehearse->add_option("--svg", options.svg, "Draw a timing diagram")->type_name("FILE");
    rehearse->add_option("--vcd", options.vcd, "Write the waveforms (IEEE 1364 VCD)")
        ->type_name("FILE");
    rehearse->add_flag("--all", options.all, "Every edge, and what the core noted");
    CLI::Option* json = rehearse->add_flag("--json", options.json, "Answer in JSON");
    CLI::Option* expect = rehearse->add_flag(
        "--expect", options.expect, "Say only whether the script's expectations are met");
    expect->excludes(json);
    rehearse
        ->add_flag("--print-expect", options.print_expect, "Print expectations that are met now")
        ->excludes(json)
        ->excludes(expect);
    rehearse->footer(rehearse_footer);
}

}  // namespace nightlatch::tool
