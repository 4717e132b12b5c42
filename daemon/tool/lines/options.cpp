// SPDX-License-Identifier: MIT
#include "daemon/tool/lines/options.hpp"

#include "base/duration_text.hpp"
#include "config/words.hpp"
#include "daemon/tool/terminal.hpp"

#include <cstdio>

#include <CLI/CLI.hpp>

namespace nightlatch::tool {
namespace {

using namespace std::chrono_literals;

constexpr Duration shortest_watch = 1s;
constexpr Duration longest_watch = 1h;

constexpr const char* lines_footer = R"(
Examples:
  nightlatch lines                          the lines that suit a button
  nightlatch lines --all soc-gpio           every line of one chip, and who holds it
  nightlatch lines --watch FRONT_BUTTON     which level it rests at, and a [button] block to paste
  nightlatch lines --watch GPIO5 GPIO6      press: which of the two is it?
  nightlatch lines --chip soc-gpio --watch 17 --bias pull-up

Privileges: none for a chip that you may open (often a group's: the refusal names it). Only root
sees what each pin is used as now; sudo nightlatch lines is worth it.

The list changes nothing. --watch asks the kernel for the lines that you name, as inputs, and lets
them go again. CAUTION: that can switch a pin to GPIO; a card, a radio or a bus on it then stops
working. Lines that are held, the post-halt line, and lines whose pin is known to be something else
are never asked for.

Exit status: 0 a line suits, or with --watch one moved; 1 none; 2 the command line is wrong.)";

}  // namespace

void add_lines(CLI::App& app, LinesCommand& command) {
    CLI::App* lines = app.add_subcommand(
        "lines", "Which lines there are, who holds each, which suit a button, which one it is on");
    CLI::Option* chips =
        lines->add_option("CHIP", command.list.chips, "Only these chips: label, name or path");
    CLI::Option* all =
        lines->add_flag("--all", command.list.all, "Also lines that are held or do not suit");
    lines->add_flag("--json", command.list.json, "Answer in JSON");
    CLI::Option* watch = lines
                             ->add_option("--watch",
                                          command.watch.lines,
                                          "Which of these lines moves? NAME or CHIP:LINE")
                             ->type_name("LINE")
                             ->expected(0, 1024)
                             ->excludes(chips)
                             ->excludes(all);
    lines->add_option("--chip", command.watch.chip, "The chip of the lines that are watched")
        ->type_name("CHIP")
        ->needs(watch);
    lines->add_option("--bias", command.bias, "pull-up, pull-down, none or as-is (the default)")
        ->type_name("BIAS")
        ->needs(watch);
    lines->add_option("--time", command.time, "Wait no longer for a press (default: 60 s)")
        ->type_name("TIME")
        ->needs(watch);
    lines->callback([watch, &command] { command.watching = watch->count() > 0; });
    lines->footer(lines_footer);
}

int run_lines(LinesCommand& command) {
    if (!command.watching) {
        return run_lines(command.list);
    }
    WatchOptions& watch = command.watch;
    std::erase(watch.lines, "");  // what the library makes of a --watch without a line
    const auto* bias = std::find_if(config::bias_words.begin(),
                                    config::bias_words.end(),
                                    [&](const auto& word) { return word.text == command.bias; });
    if (bias == config::bias_words.end()) {
        return complain("--bias is pull-up, pull-down, none or as-is");
    }
    const auto time = parse_duration(command.time);
    if (!time || *time < shortest_watch || *time > longest_watch) {
        return complain("--time is 1 s to 1 h, with its unit: --time \"60 s\"");
    }
    watch.bias = bias->value;
    watch.time = *time;
    watch.json = command.list.json;
    return run_watch(watch);
}

}  // namespace nightlatch::tool
