// SPDX-License-Identifier: MIT
#include "daemon/tool/follow/screen.hpp"

#include "base/text.hpp"
#include "daemon/tool/client/words.hpp"
#include "page/wrap.hpp"

#include <algorithm>
#include <sstream>
#include <string_view>
#include <vector>

namespace nightlatch::tool {
namespace {

constexpr unsigned cue_columns = 10;
constexpr unsigned bar_columns = 22;

page::Paint paint_of(std::string_view cue) {
    if (cue == "rest" || cue == "ready") {
        return page::Paint::good;
    }
    if (cue == "refused" || cue == "fault" || cue == "stuck" || cue == "absent") {
        return page::Paint::bad;
    }
    return cue == "countdown" || cue == "leaving" ? page::Paint::doubtful : page::Paint::bold;
}

std::string centred(const std::string& text, unsigned columns) {
    const unsigned width = page::width(text);
    return std::string(width < columns ? (columns - width) / 2 : 0, ' ') + text;
}

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    std::istringstream in(text);
    for (std::string line; std::getline(in, line);) {
        lines.push_back(std::move(line));
    }
    return lines;
}

}  // namespace

Sight sight_of(const ServiceState& state, Instant now) {
    const bool moving = is_moving(state, now);
    return {safe(state.cue), cue_words(state, now), moving ? progress(state, now) : 0, moving};
}

Sight sight_of(Absent why, const std::string& detail) {
    return {"absent", absent_words(why, detail) + "; waiting for it", 0, false};
}

std::string cut(const std::string& text, unsigned columns) {
    if (page::width(text) <= columns) {
        return text;
    }
    std::string_view rest = text;
    std::string kept;
    for (unsigned count = 1; count < columns && !rest.empty(); ++count) {
        const Character next = first_character(rest);
        kept += rest.substr(0, next.length);
        rest.remove_prefix(next.length);
    }
    return columns == 0 ? "" : kept + "…";
}

std::string live_line(const Sight& sight, const page::Style& style, unsigned columns) {
    std::string head = page::left(cut(sight.cue, cue_columns), cue_columns) + " ";
    std::string tail = sight.words;
    if (sight.moving) {
        tail = bar(sight.part, bar_columns) + " " + tail;
    }
    if (columns <= cue_columns) {
        return cut(sight.cue, columns);
    }
    return page::painted(style, head, paint_of(sight.cue)) + cut(tail, columns - cue_columns - 1);
}

std::string plain_line(const Sight& sight) {
    return sight.cue + ": " + sight.words;
}

std::string full_screen(const Sight& sight, const page::Style& style, TerminalSize size) {
    const unsigned columns = std::max(size.columns, 12U);
    const unsigned inner = columns - std::min(8U, columns / 4);
    std::vector<std::string> lines = lines_of(page::wrapped(sight.words, inner, 0, 0));
    lines.insert(lines.begin(), {sight.cue, "", sight.moving ? bar(sight.part, inner) : "", ""});
    lines.resize(std::min<std::size_t>(lines.size(), std::max(size.rows, 1U)));
    const std::size_t above = (std::max<std::size_t>(size.rows, lines.size()) - lines.size()) / 2;
    // Home, each line cleared to its end, then all below [ECMA-48, 5th edition, 8.3.21, .41, .39].
    std::string text = "\x1b[H";
    for (std::size_t i = 0; i < above; ++i) {
        text += "\x1b[K\r\n";
    }
    for (std::size_t i = 0; i < lines.size(); ++i) {
        const std::string line = centred(cut(lines[i], columns - 1), columns);
        text += i == 0 ? "" : "\r\n";
        text += (i == 0 ? page::painted(style, line, paint_of(sight.cue)) : line) + "\x1b[K";
    }
    return text + "\x1b[J";
}

}  // namespace nightlatch::tool
