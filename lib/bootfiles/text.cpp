// SPDX-License-Identifier: MIT
#include "bootfiles/text.hpp"

#include <algorithm>

namespace nightlatch::bootfiles {

std::string_view without_leading_blanks(std::string_view text) noexcept {
    return text.substr(std::min(text.find_first_not_of(blanks), text.size()));
}

std::vector<std::string_view> split(std::string_view text, char separator) {
    std::vector<std::string_view> parts;
    for (;;) {
        const std::size_t end = text.find(separator);
        parts.push_back(text.substr(0, end));
        if (end == std::string_view::npos) {
            return parts;
        }
        text.remove_prefix(end + 1);
    }
}

std::vector<std::string_view> words(std::string_view text, std::string_view between) {
    std::vector<std::string_view> found;
    std::size_t at = text.find_first_not_of(between);
    while (at != std::string_view::npos) {
        const std::size_t end = std::min(text.find_first_of(between, at), text.size());
        found.push_back(text.substr(at, end - at));
        at = text.find_first_not_of(between, end);
    }
    return found;
}

std::string_view overlay_name(std::string_view file) noexcept {
    std::string_view name = file.substr(file.rfind('/') + 1);  // npos + 1 is 0: all of it
    for (const std::string_view ending : {".dtbo", ".dtb"}) {
        if (name.ends_with(ending)) {
            name.remove_suffix(ending.size());
            break;
        }
    }
    return name.empty() ? file : name;
}

std::string_view LineBudget::take(std::string_view text) noexcept {
    text = text.substr(0, most_bytes - bytes_);
    bytes_ += text.size();
    return text;
}

bool LineBudget::line() noexcept {
    return ++lines_ <= most_lines;
}

std::optional<Line> next_line(std::string_view text, std::size_t& at, unsigned& line) {
    if (at >= text.size()) {
        return std::nullopt;
    }
    const std::size_t end = std::min(text.find('\n', at), text.size());
    Line found{++line, text.substr(at, end - at)};
    at = end + 1;
    if (found.text.ends_with('\r')) {
        found.text.remove_suffix(1);
        found.carriage_return = true;
    }
    return found;
}

}  // namespace nightlatch::bootfiles
