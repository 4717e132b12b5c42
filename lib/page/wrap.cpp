// SPDX-License-Identifier: MIT
#include "page/wrap.hpp"

#include <algorithm>

namespace nightlatch::page {

unsigned width(std::string_view text) {
    return static_cast<unsigned>(std::count_if(text.begin(), text.end(), [](char c) {
        return (static_cast<unsigned char>(c) & 0xc0U) != 0x80U;
    }));
}

std::string left(std::string_view text, unsigned columns) {
    const unsigned used = width(text);
    return std::string(text) + std::string(columns > used ? columns - used : 0, ' ');
}

std::string right(std::string_view text, unsigned columns) {
    const unsigned used = width(text);
    return std::string(columns > used ? columns - used : 0, ' ') + std::string(text);
}

std::string wrapped(std::string_view text, unsigned columns, unsigned indent, unsigned used) {
    std::string page;
    unsigned at = used;
    bool first = true;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find(' '), text.size());
        const std::string_view word = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        if (!first && at + 1 + width(word) > columns) {
            page += "\n" + std::string(indent, ' ');
            at = indent;
        } else if (!first) {
            page += ' ';
            ++at;
        }
        page += word;
        at += width(word);
        first = false;
    }
    return page;
}

std::string indented(std::string_view text, unsigned columns, unsigned indent) {
    std::string page;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        const std::string_view line = text.substr(0, end);
        const bool prose = !line.empty() && line.front() != ' ' && line.front() != '\t';
        page += line.empty() ? "" : std::string(indent, ' ');
        page += prose ? wrapped(line, columns, indent, indent) : std::string(line);
        page += '\n';
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    return page;
}

}  // namespace nightlatch::page
