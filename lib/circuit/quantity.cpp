// SPDX-License-Identifier: MIT
#include "circuit/quantity.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <optional>

namespace nightlatch::circuit {
namespace {

struct UnitFacts {
    Unit unit;
    std::string_view symbol;
    std::string_view prefixes;  ///< accepted when reading; those of printing are a part of them
    std::string_view printed;   ///< from small to large, a blank for none
    std::string_view examples;
};

constexpr std::array unit_facts{
    UnitFacts{Unit::volt, "V", "numk", "um ", R"("0.8 V", "5 V")"},
    UnitFacts{Unit::ampere, "A", "pnum", "pnum ", R"("5 uA", "16 mA", "2 A")"},
    UnitFacts{Unit::ohm, "ohm", "umkM", "um kM", R"("220 ohm", "10 kohm", "10 k")"},
    UnitFacts{Unit::farad, "F", "pnum", "pnum ", R"("100 nF", "22 uF")"},
    UnitFacts{Unit::second, "s", "num", "um ", R"("100 ms", "2.5 s")"},
    UnitFacts{Unit::celsius, "C", "", " ", R"("-10 C", "25 C")"},
    UnitFacts{Unit::kelvin_per_watt, "K/W", "", " ", R"("62 K/W")"},
    UnitFacts{Unit::metre, "m", "cmk", "m ", R"("0.3 m", "25 cm")"},
    UnitFacts{Unit::ampere_hour, "Ah", "m", "m ", R"("2.6 Ah", "900 mAh")"},
    UnitFacts{Unit::factor, "", "", " ", R"("0.8", "2")"},
    UnitFacts{Unit::watt, "W", "umk", "um k", R"("3.5 W", "800 mW")"},
    UnitFacts{Unit::watt_hour, "Wh", "mk", "m k", R"("0.5 Wh", "800 mWh")"},
    UnitFacts{Unit::joule, "J", "umk", "um k", R"("40 J", "2.5 kJ")"},
};

const UnitFacts& facts_of(Unit unit) {
    return unit_facts[static_cast<std::size_t>(unit)];
}

double factor_of(char prefix) {
    switch (prefix) {
    case 'p':
        return 1e-12;
    case 'n':
        return 1e-9;
    case 'u':
        return 1e-6;
    case 'm':
        return 1e-3;
    case 'c':
        return 1e-2;
    case 'k':
        return 1e3;
    case 'M':
        return 1e6;
    default:
        return 1.0;
    }
}

bool is_blank(char c) {
    return c == ' ' || c == '\t';
}

std::string_view without_blanks(std::string_view text) {
    while (!text.empty() && is_blank(text.front())) {
        text.remove_prefix(1);
    }
    while (!text.empty() && is_blank(text.back())) {
        text.remove_suffix(1);
    }
    return text;
}

struct Spelling {
    std::string_view written;
    std::string_view plain;
};

/// Both micro signs, both omegas and the degree sign, as they come from keyboards and data sheets.
constexpr std::array spellings{Spelling{"\xC2\xB5", "u"},
                               Spelling{"\xCE\xBC", "u"},
                               Spelling{"\xCE\xA9", "ohm"},
                               Spelling{"\xE2\x84\xA6", "ohm"},
                               Spelling{"\xC2\xB0", ""}};

std::string in_plain_letters(std::string_view text) {
    std::string plain;
    while (!text.empty()) {
        const auto* const found =
            std::find_if(spellings.begin(), spellings.end(), [&](const Spelling& spelling) {
                return text.starts_with(spelling.written);
            });
        if (found == spellings.end()) {
            plain += text.front();
            text.remove_prefix(1);
        } else {
            plain += found->plain;
            text.remove_prefix(found->written.size());
        }
    }
    return plain;
}

/// What a number is to be multiplied with, if `written` is a spelling of `unit`.
std::optional<double> scale_of(std::string_view written, Unit unit) {
    const UnitFacts& facts = facts_of(unit);
    if (written == facts.symbol) {
        return 1.0;
    }
    if (unit == Unit::factor && written == "%") {
        return 0.01;
    }
    if (written.empty() || facts.prefixes.find(written.front()) == std::string_view::npos) {
        return std::nullopt;
    }
    const std::string_view rest = written.substr(1);
    const bool resistor_shorthand = unit == Unit::ohm && rest.empty() && written.front() != 'm';
    if (rest != facts.symbol && !resistor_shorthand) {
        return std::nullopt;
    }
    return factor_of(written.front());
}

std::string wanted(Unit unit) {
    const UnitFacts& facts = facts_of(unit);
    if (unit == Unit::factor) {
        return "a bare number is wanted: " + std::string(facts.examples);
    }
    return "a number with its unit is wanted: " + std::string(facts.examples);
}

/// The prefixed unit of which these are the letters, in another case or without the unit: "uf",
/// "K", "n". An exact prefix comes first: M is not m.
std::string spelled(const std::string& letters, Unit unit) {
    const UnitFacts& facts = facts_of(unit);
    const std::string symbol(facts.symbol);
    for (const char prefix : letters.substr(0, 1) + std::string(facts.prefixes) + " ") {
        const std::string one = prefix == ' ' ? "" : std::string(1, prefix);
        if (scale_of(one + symbol, unit) &&
            (same_but_for_case(letters, one + symbol) || same_but_for_case(letters, one))) {
            return one + symbol;
        }
    }
    return "";
}

/// What "4k7", "10R", "2n2", "10 K" and "22 uf" say [IEC 60062: a letter in the place of the
/// point], or nothing.
std::string meant_by(std::string_view text, Unit unit) {
    constexpr std::string_view digits = "0123456789";
    const std::size_t first = std::min(text.find_first_not_of("0123456789. "), text.size());
    const std::size_t rest = std::min(text.find_first_of(digits, first), text.size());
    const std::string_view letters = text.substr(first, rest - first);
    const std::string_view decimals = text.substr(rest);
    std::string number(without_blanks(text.substr(0, first)));
    if (!decimals.empty()) {
        const bool is_code = letters.size() == 1 && number.find('.') == std::string::npos &&
                             decimals.find_first_not_of(digits) == std::string_view::npos;
        number = is_code ? number + "." + std::string(decimals) : "";
    }
    const bool ohms = unit == Unit::ohm && (letters == "R" || letters == "r");
    const std::string symbol = ohms ? "ohm" : spelled(in_plain_letters(letters), unit);
    return number.empty() || symbol.empty() ? "" : number + " " + symbol;
}

Unexpected<std::string> not_a_unit(std::string_view text, std::string_view written, Unit unit) {
    if (written.empty()) {
        return {in_quotes(text) + " has no unit; " + wanted(unit)};
    }
    if (const std::string meant = meant_by(without_blanks(text), unit); !meant.empty()) {
        return {in_quotes(text) + " is not a spelling that is read here; was " + in_quotes(meant) +
                " meant?"};
    }
    for (const UnitFacts& other : unit_facts) {
        if (other.unit != unit && scale_of(written, other.unit)) {
            return {in_quotes(text) + " is in " + std::string(other.symbol) + ", but " +
                    wanted(unit)};
        }
    }
    return {in_quotes(text) + " has an unknown unit; " + wanted(unit)};
}

bool is_in(double value, Range range) {
    // A little room, so that "10 %" of a limit or a printed limit read back is not just outside.
    return value >= range.least - std::abs(range.least) * 1e-9 &&
           value <= range.most + std::abs(range.most) * 1e-9;
}

/// 22 F was meant as 22 uF more often than not.
std::string what_was_meant(double value, Unit unit, Range range) {
    if (unit == Unit::celsius || unit == Unit::factor) {
        return "";
    }
    const double likely = unit == Unit::farad ? 1e-6 : 1e-3;
    for (const double slip : {likely, 1e-3, 1e3, 1e-6, 1e6}) {
        if (is_in(value * slip, range)) {
            return "; was " + to_text(value * slip, unit) + " meant?";
        }
    }
    return "";
}

/// The largest that leaves at least one before the point.
char prefix_for(double value, const UnitFacts& facts) {
    if (value == 0.0) {
        return ' ';
    }
    char prefix = facts.printed.front();
    for (const char candidate : facts.printed) {
        if (std::abs(value) >= factor_of(candidate) * (1.0 - 1e-9)) {
            prefix = candidate;
        }
    }
    return prefix;
}

}  // namespace

Result<double, std::string> parse_quantity(std::string_view text, Unit unit) {
    std::string_view rest = without_blanks(text);
    if (rest.starts_with('+')) {
        rest.remove_prefix(1);
    }
    double number = 0.0;
    const std::string_view digits = rest.starts_with('-') ? rest.substr(1) : rest;
    const bool begins_well = !digits.empty() && (digits.front() == '.' ||
                                                 (digits.front() >= '0' && digits.front() <= '9'));
    const auto read = std::from_chars(rest.data(), rest.data() + rest.size(), number);
    if (!begins_well || read.ec == std::errc::invalid_argument) {
        return Unexpected{in_quotes(text) + " is not a number; " + wanted(unit)};
    }
    if (read.ec != std::errc{} || !std::isfinite(number)) {
        return Unexpected{in_quotes(text) + " is too large or too small to be a number here; " +
                          wanted(unit)};
    }
    rest.remove_prefix(static_cast<std::size_t>(read.ptr - rest.data()));
    const std::string written = in_plain_letters(without_blanks(rest));
    const auto scale = scale_of(written, unit);
    if (!scale) {
        return not_a_unit(text, written, unit);
    }
    if (unit != Unit::celsius && number < 0.0) {
        return Unexpected{in_quotes(text) + " is negative; " + wanted(unit) + ", above zero"};
    }
    if (unit != Unit::celsius && number == 0.0) {
        return Unexpected{in_quotes(text) + " is zero; " + wanted(unit) + ", above zero"};
    }
    return number * *scale;
}

std::string trouble_with(double value, Unit unit, Range range) {
    if (is_in(value, range)) {
        return "";
    }
    return to_text(value, unit) + " is not plausible here; " + to_text(range.least, unit) + " to " +
           to_text(range.most, unit) + " is allowed" + what_was_meant(value, unit, range);
}

Result<double, std::string> parse_quantity(std::string_view text, Unit unit, Range range) {
    auto value = parse_quantity(text, unit);
    if (!value) {
        return value;
    }
    if (std::string trouble = trouble_with(*value, unit, range); !trouble.empty()) {
        return Unexpected{std::move(trouble)};
    }
    return value;
}

std::string number_text(double value, int digits) {
    if (value == 0.0 || !std::isfinite(value)) {
        return value == 0.0 ? "0" : "none";
    }
    const int magnitude = static_cast<int>(std::floor(std::log10(std::abs(value)) + 1e-12));
    const int decimals = std::clamp(digits - 1 - magnitude, 0, 15);
    std::array<char, 64> buffer{};
    const auto end = std::to_chars(
        buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed, decimals);
    std::string text(buffer.data(), end.ptr);
    if (text.find('.') != std::string::npos) {
        text.erase(text.find_last_not_of('0') + 1);
        if (text.ends_with('.')) {
            text.pop_back();
        }
    }
    return text;
}

std::string to_text(double value, Unit unit, int digits) {
    const UnitFacts& facts = facts_of(unit);
    if (std::isinf(value)) {
        return "none";
    }
    const char prefix = prefix_for(value, facts);
    std::string text = number_text(value / factor_of(prefix), digits);
    if (unit == Unit::factor) {
        return text;
    }
    text += ' ';
    if (prefix != ' ') {
        text += prefix;
    }
    return text + std::string(facts.symbol);
}

std::string_view symbol_of(Unit unit) noexcept {
    return facts_of(unit).symbol;
}

}  // namespace nightlatch::circuit
