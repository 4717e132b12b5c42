// SPDX-License-Identifier: MIT
#include "config/words.hpp"
#include "daemon/tool/lines/watch.hpp"

namespace nightlatch::tool {
namespace {

using namespace std::chrono_literals;

constexpr const char* lines_footer = R"(
Examples:
  nightlatch lines                          the lines that suit a button
  nightlatch lines --all soc-gpio           every line of one chip, and who holds it
  nightlatch lines --watch FRONT_BUTTON     which level it rests at, and a [button] block to paste
  nightlatch lines --watch GPIO5 GPIO6      press: which of the two is it?
  nightlatch lines --chip soc-gpio --watch 17 --bias pull-up

Privileges: none for a chip that you may open (often as a member of a group: the error names it).
Only root sees what each pin is used as now: sudo nightlatch lines shows more.

The list changes nothing. --watch requests the lines that you name, as inputs, and releases them
again. CAUTION: that can switch a pin to GPIO; a card, a radio or a bus on it then
stops working. Lines that are held, the post-halt line, and lines whose pin is known to be
something else are never requested.

Exit status: 0 a line suits, or with --watch one moved; 1 none; 2 the command line is wrong,
or the answer could not be written.)";

}  // namespace

void describe_lines(Options& options, LinesCommand& into) {
    options.texts("CHIP", into.list.chips, "Only these chips: label, name or path")
        .flag("--all", into.list.all, "Also lines that are held or do not suit")
        .flag("--json", into.list.json, "Answer in JSON")
        .texts("--watch LINE",
               into.watched,
               "Which of these lines moves? NAME or CHIP:LINE",
               Option::Values::any)
        .excludes("CHIP")
        .excludes("--all")
        .text("--chip CHIP", into.watch.chip, "The chip of the lines that are watched")
        .needs("--watch")
        .choice("--bias BIAS",
                config::bias_words,
                into.watch.bias,
                "pull-up, pull-down, none or as-is (the default)")
        .needs("--watch")
        .time("--time TIME",
              {1s, 1h},
              into.watch.time,
              "Wait at most this long for a press (default: 60 s)")
        .needs("--watch")
        .footer(lines_footer);
}

int run_lines_command(const LinesCommand& told) {
    if (!told.watched) {
        return run_lines(told.list);
    }
    WatchOptions watch = told.watch;
    watch.lines = *told.watched;
    watch.json = told.list.json;
    return run_watch(watch);
}

}  // namespace nightlatch::tool
