// SPDX-License-Identifier: MIT
#include "daemon/tool/bounce/options.hpp"

#include "base/duration_text.hpp"
#include "config/words.hpp"
#include "daemon/tool/terminal.hpp"

#include <algorithm>
#include <cstdio>

#include <CLI/CLI.hpp>

namespace nightlatch::tool {
namespace {

using namespace std::chrono_literals;

constexpr const char* bounce_footer = R"(
Examples:
  nightlatch bounce soc-gpio FRONT_BUTTON   press it ten times: what it needs
  nightlatch bounce --presses 50            the configured button and debounce
  nightlatch bounce soc-gpio 17 --bias pull-up --vcd button.vcd
  nightlatch bounce --wave scope.csv --signal CH1 --config nightlatch.toml

Privileges: none for a chip that you may open (often a group's: the refusal
names it), and none for a capture. Only root sees what each pin is used as now.

CAUTION: asking for a line can switch its pin to GPIO; a card, a radio or a bus
on it then stops working. So only a line that you or your configuration name is
asked for, as an input, with no bias unless the configuration or --bias says
one; never one that is held, the post-halt line, or one whose pin is known to be
something else. While the service runs it holds the line: sudo systemctl stop
nightlatch, measure, sudo systemctl start nightlatch.

Exit status: 0 fine; 1 it floats, the configured debounce is too short, too few
presses were seen, or the line is not to be had; 2 the command line, the
configuration or the capture is wrong.)";

/// The word's value, into what it sets; an empty word sets nothing. False: there is no such word.
template <class Words, class T>
bool take_word(const Words& words, const std::string& text, std::optional<T>& into) {
    if (text.empty()) {
        return true;
    }
    const auto* const found = std::find_if(
        words.begin(), words.end(), [&text](const auto& word) { return word.text == text; });
    if (found == words.end()) {
        return false;
    }
    into = found->value;
    return true;
}

bool take_time(const std::string& text, Duration least, Duration most, Duration& into) {
    if (text.empty()) {
        return true;
    }
    const auto read = parse_duration(text);
    if (!read || *read < least || *read > most) {
        return false;
    }
    into = *read;
    return true;
}

/// What speaks against the words, taken together; empty when nothing does.
std::string contradiction(const BounceOptions& options) {
    const bool captured = options.wave.has_value();
    if (captured && (!options.line.empty() || options.bias || options.vcd)) {
        return "--wave measures a capture: no line, no --bias and no --vcd with it";
    }
    if (!captured && !options.signal.empty()) {
        return "--signal is one of a capture's: it needs --wave FILE";
    }
    return "";
}

void add_measuring(CLI::App& bounce, BounceCommand& command) {
    BounceOptions& options = command.options;
    bounce.add_option("--bias", command.bias, "pull-up, pull-down, none or as-is")
        ->type_name("BIAS");
    bounce.add_option("--pressed", command.pressed, "The level while pressed: low or high")
        ->type_name("LEVEL");
    bounce.add_option("--presses", options.presses, "So many whole presses (default: 10)")
        ->type_name("N")
        ->check(CLI::Range(std::size_t{1}, most_presses));
    bounce.add_option("--time", command.time, "Wait no longer for them (default: 2 min)")
        ->type_name("TIME");
    bounce.add_option("--quiet", command.quiet, "A bounce is over when quiet so long (200 ms)")
        ->type_name("TIME");
}

}  // namespace

void add_bounce(CLI::App& app, BounceCommand& command) {
    BounceOptions& options = command.options;
    CLI::App* bounce = app.add_subcommand(
        "bounce", "How much this very button bounces, and what debounce it needs");
    bounce->add_option("CHIP", command.chip, "Its label, name or path; or CHIP:LINE, or NAME");
    bounce->add_option("LINE", command.line, "Its name or offset (without both: as configured)");
    bounce->add_option("--config", options.config, "Measure against this configuration")
        ->type_name("FILE");
    add_measuring(*bounce, command);
    bounce->add_option("--wave", options.wave, "Measure this capture instead, VCD or CSV")
        ->type_name("FILE");
    bounce->add_option("--signal", options.signal, "Its signal, where it has several")
        ->type_name("NAME");
    bounce->add_option("--vcd", options.vcd, "Write the recording there, as VCD")
        ->type_name("FILE");
    bounce->add_flag("--json", options.json, "Answer in JSON");
    bounce->footer(bounce_footer);
}

int run_bounce(BounceCommand& command) {
    BounceOptions& options = command.options;
    for (const std::string& word : {command.chip, command.line}) {
        if (!word.empty()) {
            options.line.push_back(word);
        }
    }
    if (!take_word(config::bias_words, command.bias, options.bias)) {
        return complain("--bias is pull-up, pull-down, none or as-is");
    }
    if (!take_word(config::level_words, command.pressed, options.pressed_low)) {
        return complain("--pressed is low or high");
    }
    if (!take_time(command.time, 1s, 1h, options.time)) {
        return complain("--time is 1 s to 1 h, with its unit: --time \"2 min\"");
    }
    if (!take_time(command.quiet, 1ms, 1s, options.quiet)) {
        return complain("--quiet is 1 ms to 1 s, with its unit: --quiet \"200 ms\"");
    }
    if (const std::string why = contradiction(options); !why.empty()) {
        return complain(why);
    }
    return run_bounce(options);
}

}  // namespace nightlatch::tool
