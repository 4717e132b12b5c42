// SPDX-License-Identifier: MIT
#include "config/diagnostic.hpp"

#include <algorithm>
#include <array>
#include <cstdio>

namespace nightlatch::config {
namespace {

constexpr std::size_t longest_quote = 60;  // bytes; a sentence must stay readable

/// U+0080 to U+009F are the bytes C2 80 to C2 9F.
bool is_c1(unsigned char lead, unsigned char next) {
    return lead == 0xC2 && next >= 0x80 && next <= 0x9F;
}

bool is_c0(unsigned char c) {
    return c < 0x20 || c == 0x7F;
}

std::string escaped(unsigned char c) {
    std::array<char, 8> text{};
    std::snprintf(text.data(), text.size(), "\\u%04X", static_cast<unsigned>(c));
    return text.data();
}

}  // namespace

std::string to_text(const Diagnostic& diagnostic, std::string_view file) {
    return std::string(file) + ":" + std::to_string(diagnostic.place.line) + ":" +
           std::to_string(diagnostic.place.column) + ": " +
           std::string(text_of(diagnostic.severity)) + ": " + diagnostic.key + ": " +
           diagnostic.text;
}

bool has_errors(const Diagnostics& diagnostics) noexcept {
    return std::any_of(diagnostics.begin(), diagnostics.end(), [](const Diagnostic& one) {
        return one.severity == Severity::error;
    });
}

std::string printable(std::string_view text) {
    std::string result;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const auto c = static_cast<unsigned char>(text[i]);
        const auto next = static_cast<unsigned char>(i + 1 < text.size() ? text[i + 1] : '\0');
        if (is_c0(c)) {
            result += escaped(c);
        } else if (is_c1(c, next)) {
            result += escaped(next);
            ++i;
        } else {
            result += text[i];
        }
    }
    return result;
}

std::string shortened(std::string_view text, std::size_t most) {
    if (text.size() <= most) {
        return printable(text);
    }
    std::size_t end = most;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) {
        --end;  // not in the middle of a character
    }
    return printable(text.substr(0, end)) + "…";
}

std::string in_quotes(std::string_view text) {
    return "\"" + shortened(text, longest_quote) + "\"";
}

}  // namespace nightlatch::config
