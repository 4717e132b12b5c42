// SPDX-License-Identifier: MIT
#include "base/decimal.hpp"

#include <algorithm>
#include <charconv>
#include <optional>

namespace nightlatch {
namespace {

constexpr std::uint64_t largest =
    4'000'000'000'000'000'000;  // two of them fit in 64 bits with sign

/// A number without its sign: `whole` digits, then `part` of them, times ten to `exponent`.
struct Digits {
    std::string_view whole;
    std::string_view part;
    std::int64_t exponent = 0;

    [[nodiscard]] std::int64_t count() const noexcept {
        return static_cast<std::int64_t>(whole.size() + part.size());
    }

    /// 0 beyond the last.
    [[nodiscard]] unsigned at(std::int64_t index) const noexcept {
        const auto i = static_cast<std::size_t>(index);
        if (i >= whole.size() + part.size()) {
            return 0;
        }
        return static_cast<unsigned>((i < whole.size() ? whole[i] : part[i - whole.size()]) - '0');
    }
};

std::string_view take_digits(std::string_view& text) noexcept {
    const std::size_t size = std::min(text.find_first_not_of("0123456789"), text.size());
    const std::string_view digits = text.substr(0, size);
    text.remove_prefix(size);
    return digits;
}

bool take_exponent(std::string_view& text, std::int64_t& exponent) noexcept {
    text.remove_prefix(1);
    const bool negative = text.starts_with('-');
    if (negative || text.starts_with('+')) {
        text.remove_prefix(1);
    }
    const std::string_view digits = take_digits(text);
    constexpr std::int64_t most = 1'000'000;
    const auto [last, failure] =
        std::from_chars(digits.data(), digits.data() + digits.size(), exponent);
    exponent = failure == std::errc::result_out_of_range ? most : std::min(exponent, most);
    exponent = negative ? -exponent : exponent;
    return !digits.empty();
}

std::optional<Digits> digits_of(std::string_view text, char mark) noexcept {
    Digits digits;
    digits.whole = take_digits(text);
    if (text.starts_with(mark)) {
        text.remove_prefix(1);
        digits.part = take_digits(text);
    }
    if (digits.count() == 0) {
        return std::nullopt;
    }
    if ((text.starts_with('e') || text.starts_with('E')) && !take_exponent(text, digits.exponent)) {
        return std::nullopt;
    }
    return text.empty() ? std::optional(digits) : std::nullopt;
}

/// Nothing beyond `largest`. `before`: how many digits stand before the point.
std::optional<std::uint64_t> rounded(const Digits& digits, std::int64_t before) noexcept {
    constexpr std::int64_t most_digits = 19;
    std::int64_t first = 0;  // leading zeros say nothing
    while (first < digits.count() && digits.at(first) == 0) {
        ++first;
    }
    if (first == digits.count()) {
        return 0;
    }
    if (before - first > most_digits) {
        return std::nullopt;
    }
    std::uint64_t value = 0;
    for (std::int64_t i = first; i < before; ++i) {
        value = value * 10 + digits.at(i);
    }
    if (before >= first && digits.at(before) >= 5) {
        ++value;
    }
    return value <= largest ? std::optional(value) : std::nullopt;
}

}  // namespace

std::string_view number_at_front(std::string_view text) noexcept {
    std::string_view rest = text;
    const std::size_t whole = take_digits(rest).size();
    if (whole == 0 || !rest.starts_with('.')) {
        return text.substr(0, whole);
    }
    rest.remove_prefix(1);
    const std::size_t part = take_digits(rest).size();
    return part == 0 ? std::string_view() : text.substr(0, whole + 1 + part);
}

Decimal decimal_of(std::string_view text, int exponent, char mark) noexcept {
    const bool negative = text.starts_with('-');
    if (negative || text.starts_with('+')) {
        text.remove_prefix(1);
    }
    const auto digits = digits_of(text, mark);
    if (!digits) {
        return {};
    }
    const auto before =
        static_cast<std::int64_t>(digits->whole.size()) + digits->exponent + exponent;
    const auto value = rounded(*digits, before);
    if (!value) {
        return {Decimal::Kind::too_large, 0};
    }
    const auto with_sign = static_cast<std::int64_t>(*value);
    return {Decimal::Kind::number, negative ? -with_sign : with_sign};
}

}  // namespace nightlatch
