// SPDX-License-Identifier: MIT
#pragma once

#include "bounce/line_watch.hpp"
#include "daemon/tool/lines/lines.hpp"
#include "daemon/tool/options.hpp"
#include "daemon/tool/pick_lines.hpp"

#include <chrono>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::tool {

struct WatchOptions {
    std::vector<std::string>
        lines;  ///< NAME or CHIP:LINE; empty: the header's, where they are known
    std::optional<std::string> chip;  ///< the chip of all of them
    lines::Bias bias = lines::Bias::as_is;
    Duration time = std::chrono::seconds(60);  ///< how long to wait for a press at most
    bool json = false;
};

/// What `lines` can be told, with and without --watch.
struct LinesCommand {
    LinesOptions list;
    WatchOptions watch;  ///< without its lines
    std::optional<std::vector<std::string>> watched;
};

void describe_lines(Options& options, LinesCommand& into);

/// The list, or the watch.
int run_lines_command(const LinesCommand& told);

/// Why nothing is asked for. Status 2: name it in another way; 1: it is not available.
struct Refusal {
    std::string text;
    int status = 1;
};

/// The lines to ask for. Named ones, unless one of them is held, is the post-halt line, or has a
/// pin that is something else now. Without a name only lines with a name of their own that suit and
/// whose pin is GPIO now, and where there is none of those the candidates are listed.
Result<std::vector<PickedLine>, Refusal> choose_lines(const LinesFacts& facts,
                                                      const WatchOptions& options);

/// What is about to be done, and the caution; ends with the line's end.
std::string before_text(const LinesFacts& facts,
                        const std::vector<PickedLine>& lines,
                        const WatchOptions& options);

/// "Press your button now, …".
std::string press_text(const WatchOptions& options);

enum class WatchEnd : unsigned char { pressed, time, signal };

/// What was seen: lines[i] moved as watches[i] says.
struct WatchSeen {
    std::vector<PickedLine> lines;
    std::vector<bounce::LineWatch> watches;
    WatchEnd end = WatchEnd::time;
};

/// The line that moved first; nothing when none settled at another level.
std::optional<std::size_t> first_moved(const WatchSeen& seen);

/// The button as a configuration would name it, by the line that moved first.
config::Button button_of(const Chips& chips,
                         const WatchSeen& seen,
                         std::size_t index,
                         lines::Bias bias);

std::string watch_text(const LinesFacts& facts,
                       const WatchSeen& seen,
                       const WatchOptions& options,
                       const page::Style& style = {});
std::string watch_json(const LinesFacts& facts, const WatchSeen& seen, const WatchOptions& options);

/// 0: a line moved; 1: none did.
int watch_status(const WatchSeen& seen);

/// The command as a whole. 1 also when a line is not available or its chip goes; 2: wrong usage.
int run_watch(const WatchOptions& options);

}  // namespace nightlatch::tool
