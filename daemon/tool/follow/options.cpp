// SPDX-License-Identifier: MIT
#include "config/words.hpp"
#include "daemon/tool/follow/follow.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::tool {
namespace {

using namespace std::chrono_literals;

constexpr auto cue_words_table = [] {
    std::array<config::Word<core::CueName>, core::cue_count> all{};
    std::transform(core::all_cues.begin(), core::all_cues.end(), all.begin(), [](auto cue) {
        return config::Word<core::CueName>{core::text_of(cue), cue};
    });
    return all;
}();

constexpr const char* follow_footer = R"(
Examples:
  nightlatch follow                         what the button does, on one line, as it happens
  nightlatch follow --full-screen           the same for a small display of its own
  nightlatch follow --json                  one JSON object a line, for any program that reads lines
  nightlatch follow --once --json           the state now
  nightlatch follow --end-at leaving && echo "going down"
  nightlatch follow --run ./lamp.sh deck    a program for each cue; $NIGHTLATCH_CUE is which
  nightlatch follow --limit "2 s" --run sh -c 'echo "$NIGHTLATCH_CUE" >/run/user/1000/cue'

Privileges: none. The program of --run runs in your own account, never in the service's.

What follows --run, to the end of the line, is the program and its arguments: put it last. Without
the service, or without a bus, it waits.

Exit status: 0 ended by --once or --end-at; 1 --once and the service is not running, or ended before
the cue of --end-at came; 2 the command line is wrong, or the output could not be written.)";

}  // namespace

void describe_follow(Options& options, FollowOptions& into) {
    options.flag("--json", into.json, "One JSON object a line")
        .flag("--full-screen", into.full_screen, "Use the whole terminal")
        .excludes("--json")
        .flag("--once", into.once, "Print the state now, and end")
        .excludes("--full-screen")
        .choice("--end-at CUE", cue_words_table, into.end_at, "End when this cue is shown")
        .excludes("--once")
        .rest("--run PROGRAM",
              into.run,
              "Run this program, with all that follows as its arguments, for each cue")
        .excludes("--json")
        .excludes("--full-screen")
        .time("--limit DURATION",
              {100ms, 1h},
              into.limit,
              "End a run of the program that lasts longer (default: 10 s)")
        .needs("--run")
        .footer(follow_footer);
}

}  // namespace nightlatch::tool
