// SPDX-License-Identifier: MIT
#include "config/words.hpp"
#include "daemon/tool/bounce/bounce.hpp"

namespace nightlatch::tool {
namespace {

using namespace std::chrono_literals;

constexpr const char* bounce_footer = R"(
Examples:
  nightlatch bounce soc-gpio FRONT_BUTTON   press it ten times: what debounce it needs
  nightlatch bounce --presses 50            the configured button and debounce
  nightlatch bounce soc-gpio 17 --bias pull-up --vcd button.vcd
  nightlatch bounce --wave scope.csv --signal CH1 --threshold "1.6 V"

Privileges: none for a chip that you may open (often as a member of a group: the
error names it), and none for a capture. Only root sees what each pin is used as
now.

CAUTION: requesting a line can switch its pin to GPIO; a card, a radio or a bus
on it then stops working. So only a line that you or your configuration name is
requested, as an input, with no bias unless the configuration or --bias names
one; never one that is held, the post-halt line, or one whose pin is known to be
something else. While the service runs it holds the line: sudo systemctl stop
nightlatch, measure, sudo systemctl start nightlatch.

Exit status: 0 fine; 1 it floats, the configured debounce is too short, too few
presses were seen, or the line cannot be requested; 2 the command line, the
configuration or the capture is wrong, or what was asked for could not be
written.)";

}  // namespace

void describe_bounce(Options& options, BounceOptions& into) {
    options.text("CHIP", into.line, "Its label, name or path; or CHIP:LINE, or NAME")
        .text("LINE", into.line, "Its name or offset (without both: as configured)")
        .config(into.config, "Measure against this configuration")
        .choice("--bias BIAS", config::bias_words, into.bias, "pull-up, pull-down, none or as-is")
        .choice("--pressed LEVEL",
                config::level_words,
                into.pressed_low,
                "The level while pressed: low or high")
        .number("--presses N",
                Range{std::size_t{1}, most_presses},
                into.presses,
                "How many whole presses, 1 to 1000 (default: 10)")
        .time(
            "--time TIME", {1s, 1h}, into.time, "Wait at most this long for them (default: 2 min)")
        .time("--quiet TIME",
              {1ms, 1s},
              into.quiet,
              "This long without an edge ends a bounce (200 ms)")
        .text("--vcd FILE", into.vcd, "Write the recording there, as VCD")
        .text("--wave FILE", into.wave, "Measure this capture instead, VCD or CSV; - for a pipe")
        .excludes("CHIP")
        .excludes("--bias")
        .excludes("--vcd");
    describe_wave_choice(options, into.of_wave);
    options.flag("--json", into.json, "Answer in JSON").footer(bounce_footer);
}

}  // namespace nightlatch::tool
