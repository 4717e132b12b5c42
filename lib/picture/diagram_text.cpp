// SPDX-License-Identifier: MIT
#include "picture/diagram_text.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

namespace nightlatch::picture::svg {
namespace {

using namespace std::chrono_literals;

constexpr std::string_view ellipsis = "\xE2\x80\xA6";

/// Advance widths of the characters from space to '~' in hundredths of an em, measured in a wide
/// sans-serif font and rounded up.
constexpr std::array<unsigned char, 95> widths{
    32, 41, 46, 84, 64, 96, 78, 28, 40,  40, 50, 84, 32, 37, 32, 34, 64, 64, 64, 64, 64, 64, 64, 64,
    64, 64, 34, 34, 84, 84, 84, 54, 100, 69, 69, 70, 78, 64, 58, 78, 76, 30, 30, 66, 56, 87, 75, 79,
    61, 79, 70, 64, 62, 74, 69, 99, 69,  62, 69, 40, 34, 40, 84, 50, 50, 62, 64, 55, 64, 62, 36, 64,
    64, 28, 28, 58, 28, 98, 64, 62, 64,  64, 42, 53, 40, 64, 60, 82, 60, 60, 53, 64, 34, 64, 84};

double ems_of(const Character& character) {
    if (character.code >= ' ' && character.code <= '~') {
        return widths[character.code - ' '] / 100.0;
    }
    if (character.code >= 0x1F000) {
        return 1.4;
    }
    return character.code < 0x2000 ? 0.9 : 1.0;
}

std::string trimmed_number(std::int64_t hundredths) {
    const bool negative = hundredths < 0;
    const std::int64_t size = negative ? -hundredths : hundredths;
    std::string text = (negative ? "-" : "") + std::to_string(size / 100);
    if (size % 100 != 0) {
        text += '.';
        text += static_cast<char>('0' + size % 100 / 10);
    }
    if (size % 10 != 0) {
        text += static_cast<char>('0' + size % 10);
    }
    return text;
}

/// In hundredths of the unit, rounded.
std::int64_t hundredths(Duration time, Duration unit) {
    return std::llround(static_cast<double>(time.count()) * 100.0 /
                        static_cast<double>(unit.count()));
}

std::string below_a_minute(Duration time) {
    if (hundredths(time, 1us) < 100) {
        return std::to_string(time.count()) + " ns";
    }
    if (time < 100us) {
        return trimmed_number(hundredths(time, 1us)) + " \xC2\xB5s";
    }
    if (hundredths(time, 1ms) < 100'000) {
        return trimmed_number(hundredths(time, 1ms)) + " ms";
    }
    return trimmed_number(hundredths(time, 1s)) + " s";
}

}  // namespace

double size_of(Font font) noexcept {
    switch (font) {
    case Font::small:
        return 11;
    case Font::normal:
    case Font::strong:
        return 12.5;
    case Font::heading:
        return 19;
    }
    return 12.5;
}

std::string limited(std::string text, std::size_t most) {
    if (text.size() <= most) {
        return text;
    }
    while (most > 0 && (static_cast<unsigned char>(text[most]) & 0xC0U) == 0x80) {
        --most;
    }
    text.resize(most);
    return text + std::string(ellipsis);
}

std::string escaped(std::string_view text) {
    const std::string plain = safe(text);
    std::string out;
    out.reserve(plain.size());
    for (const char c : plain) {
        switch (c) {
        case '&':
            out += "&amp;";
            break;
        case '<':
            out += "&lt;";
            break;
        case '>':
            out += "&gt;";
            break;
        case '"':
            out += "&quot;";
            break;
        default:
            out += c;
        }
    }
    return out;
}

std::string number(double value) {
    constexpr double most = 1e12;
    return std::isfinite(value) ? trimmed_number(std::llround(std::clamp(value, -most, most) * 100))
                                : "0";
}

std::string time_text(Duration time) {
    if (time < Duration::zero()) {
        return "0 s";
    }
    if (time == Duration::zero()) {
        return "0 s";
    }
    // Rounded first, so that no 59.999 s becomes 60 s after the minutes are taken out.
    if (hundredths(time, 1s) < 6'000) {
        return below_a_minute(time);
    }
    const std::int64_t all = hundredths(time, 1s);
    const std::int64_t day = 8'640'000;
    std::string text;
    const auto part = [&](std::int64_t count, std::string_view unit) {
        text += count == 0 ? "" : (text.empty() ? "" : " ") + std::to_string(count);
        text += count == 0 ? std::string_view() : unit;
    };
    part(all / day, " d");
    part(all % day / 360'000, " h");
    part(all % 360'000 / 6'000, " min");
    if (all % 6'000 != 0) {
        text += " " + trimmed_number(all % 6'000) + " s";
    }
    return text;
}

double width_of(std::string_view text, Font font) {
    double ems = 0;
    while (!text.empty()) {
        const Character character = first_character(text);
        ems += ems_of(character);
        text.remove_prefix(character.length);
    }
    // Strong letters are wider by a tenth or so.
    const double stretch = font == Font::strong || font == Font::heading ? 1.12 : 1.0;
    return ems * size_of(font) * stretch;
}

std::string shortened(std::string_view text, Font font, double room) {
    if (width_of(text, font) <= room) {
        return std::string(text);
    }
    double used = width_of(ellipsis, font);
    std::size_t end = 0;
    while (end < text.size()) {
        const std::size_t length = first_character(text.substr(end)).length;
        used += width_of(text.substr(end, length), font);
        if (used > room) {
            break;
        }
        end += length;
    }
    while (end > 0 && text[end - 1] == ' ') {
        --end;
    }
    return std::string(text.substr(0, end)) + std::string(ellipsis);
}

namespace {

/// Not between a number and its unit.
bool may_break(std::string_view text, std::size_t space) {
    constexpr std::size_t longest_unit = 4;
    if (space >= text.size() || space == 0 || text[space - 1] < '0' || text[space - 1] > '9') {
        return true;
    }
    const std::size_t end = std::min(text.find(' ', space + 1), text.size());
    return end - space - 1 > longest_unit;
}

}  // namespace

std::vector<std::string> wrapped(std::string_view text, Font font, double room, std::size_t most) {
    std::vector<std::string> lines;
    while (lines.size() + 1 < most && width_of(text, font) > room) {
        std::size_t end = 0;
        double used = 0;
        for (std::size_t at = 0; at < text.size() && used <= room;) {
            const std::size_t next = std::min(text.find(' ', at + 1), text.size());
            used += width_of(text.substr(at, next - at), font);
            end = used <= room && may_break(text, next) ? next : end;
            at = next;
        }
        if (end == 0) {
            break;  // one word that is too long: the last line shortens it
        }
        lines.emplace_back(text.substr(0, end));
        text.remove_prefix(std::min(text.find_first_not_of(' ', end), text.size()));
    }
    lines.push_back(shortened(text, font, room));
    return lines;
}

}  // namespace nightlatch::picture::svg
