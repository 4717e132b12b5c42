// SPDX-License-Identifier: MIT
#include "bootfiles/text.hpp"

#include <algorithm>
#include <charconv>

namespace nightlatch::bootfiles {
namespace {

constexpr std::string_view blanks = " \t";

}  // namespace

std::string shown(std::string_view text, std::size_t most) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::string result;
    for (const char c : text) {
        if (result.size() >= most) {
            return result + "...";
        }
        const auto byte = static_cast<unsigned char>(c);
        if (byte >= 0x20 && byte < 0x7f) {
            result += c;
        } else {
            result += {'\\', 'x', digits[byte >> 4U], digits[byte & 0xfU]};
        }
    }
    return result;
}

std::string in_quotes(std::string_view text) {
    return '"' + shown(text) + '"';
}

std::string_view without_leading_blanks(std::string_view text) noexcept {
    return text.substr(std::min(text.find_first_not_of(blanks), text.size()));
}

std::string_view trimmed(std::string_view text) noexcept {
    return without_leading_blanks(text.substr(0, text.find_last_not_of(blanks) + 1));
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

std::optional<unsigned> number(std::string_view text) noexcept {
    unsigned value = 0;
    const char* const end = text.data() + text.size();
    const auto [last, error] = std::from_chars(text.data(), end, value);
    return error == std::errc{} && last == end ? std::optional(value) : std::nullopt;
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
