// SPDX-License-Identifier: MIT
#include "page/page.hpp"

#include "base/text.hpp"
#include "page/wrap.hpp"

#include <algorithm>

namespace nightlatch::page {
namespace {

constexpr unsigned gap = 2;

/// Select graphic rendition [ECMA-48, 5th edition, 8.3.117].
std::string_view begin_of(Paint paint) {
    switch (paint) {
    case Paint::bold:
        break;
    case Paint::good:
        return "\x1b[1;32m";
    case Paint::doubtful:
        return "\x1b[1;33m";
    case Paint::bad:
        return "\x1b[1;31m";
    }
    return "\x1b[1m";
}

constexpr std::string_view paint_ends = "\x1b[0m";

std::vector<unsigned> widths_of(const std::vector<Row>& rows) {
    std::vector<unsigned> widths;
    for (const Row& row : rows) {
        widths.resize(std::max(widths.size(), row.size()));
        for (std::size_t i = 0; i < row.size(); ++i) {
            widths[i] = std::max(widths[i], width(row[i]));
        }
    }
    return widths;
}

std::string line_of(const Row& row,
                    const std::vector<unsigned>& widths,
                    const TableLayout& layout) {
    std::string line(layout.indent, ' ');
    for (std::size_t i = 0; i < row.size(); ++i) {
        line += i == 0 ? "" : std::string(gap, ' ');
        const unsigned used = width(line);
        if (layout.sides[std::min(i, layout.sides.size() - 1)] == 'r') {
            line += right(row[i], widths[i]);
        } else if (i + 1 == row.size() && layout.wrapped_at > 0) {
            line += wrapped(row[i], layout.wrapped_at, used, used);
        } else {
            line += left(row[i], widths[i]);
        }
    }
    return line.substr(0, line.find_last_not_of(' ') + 1) + "\n";
}

}  // namespace

std::string painted(const Style& style, std::string_view words, Paint paint) {
    if (!style.colour) {
        return safe(words);
    }
    return std::string(begin_of(paint)) + safe(words) + std::string(paint_ends);
}

std::string table(const std::vector<Row>& rows, const TableLayout& layout) {
    std::vector<Row> cells = rows;
    for (Row& row : cells) {
        std::transform(row.begin(), row.end(), row.begin(), safe);
    }
    const std::vector<unsigned> widths = widths_of(cells);
    std::string text;
    for (const Row& row : cells) {
        text += line_of(row, widths, layout);
    }
    return text;
}

void Page::paragraph(std::string_view head, std::string_view words, unsigned indent) {
    const std::string begin = safe(head);
    text_ += begin + wrapped(safe(words), style_.columns, indent, width(begin)) + "\n";
}

void Page::verdict(std::string_view words, std::string_view key, Paint paint) {
    const std::string whole = safe(words);
    const std::size_t next = whole.rfind(" Next: ");
    const std::string marked = safe(key);
    const std::size_t at = whole.substr(0, next).find(marked);
    // Without an indent a line's end takes the place of one blank: every word is where it was.
    std::string found = wrapped(whole.substr(0, next), style_.columns, 0, 0);
    if (style_.colour && !marked.empty() && at != std::string::npos) {
        found.insert(at + marked.size(), paint_ends);
        found.insert(at, begin_of(paint));
    }
    text_ += found + "\n";
    if (next != std::string::npos) {
        text_ += wrapped(whole.substr(next + 1), style_.columns, 0, 0) + "\n";
    }
}

void Page::block(std::string_view lines, unsigned indent) {
    text_ += indented(safe_lines(lines), style_.columns, indent);
}

}  // namespace nightlatch::page
