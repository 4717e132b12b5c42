// SPDX-License-Identifier: MIT
#include "daemon/guard/guard_file.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cstddef>
#include <system_error>

namespace nightlatch::guard {
namespace {

constexpr std::string_view head = "nightlatch-guard 1 ";
constexpr std::string_view chip_prefix = "gpiochip";
constexpr unsigned last_chip = 9999;
constexpr unsigned last_offset = 65535;
constexpr unsigned longest_interval_ms = 5000;

struct BiasWord {
    std::string_view word;
    lines::Bias bias;
};

constexpr std::array bias_words{BiasWord{"as-is", lines::Bias::as_is},
                                BiasWord{"none", lines::Bias::none},
                                BiasWord{"pull-up", lines::Bias::pull_up},
                                BiasWord{"pull-down", lines::Bias::pull_down}};

std::string_view word_of(lines::Bias bias) {
    for (const BiasWord& known : bias_words) {
        if (known.bias == bias) {
            return known.word;
        }
    }
    return "";
}

std::optional<lines::Bias> bias_of(std::string_view word) {
    for (const BiasWord& known : bias_words) {
        if (known.word == word) {
            return known.bias;
        }
    }
    return std::nullopt;
}

/// Decimal digits as they are written by us: no sign, no leading zero.
std::optional<unsigned> canonical_number(std::string_view text, unsigned last) {
    unsigned number = 0;
    const char* const end = text.data() + text.size();
    const auto [stopped, error] = std::from_chars(text.data(), end, number);
    const bool canonical = text.size() == 1 || !text.starts_with('0');
    if (text.empty() || error != std::errc{} || stopped != end || number > last || !canonical) {
        return std::nullopt;
    }
    return number;
}

/// Takes the next word off the text.
std::string_view take_word(std::string_view& text) {
    const std::size_t end = std::min(text.find(' '), text.size());
    const std::string_view word = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    return word;
}

}  // namespace

std::string guard_text(const GuardFile& file) {
    const auto interval = std::chrono::ceil<std::chrono::milliseconds>(file.release_interval);
    std::string text(head);
    text += file.chip;
    text += ' ' + std::to_string(file.offset);
    text += file.active_low ? " active-low " : " active-high ";
    text += word_of(file.bias);
    text += ' ' + std::to_string(interval.count()) + '\n';
    return text;
}

std::optional<GuardFile> parse_guard_text(std::string_view text) {
    if (!text.starts_with(head) || !text.ends_with('\n')) {
        return std::nullopt;
    }
    text.remove_prefix(head.size());
    text.remove_suffix(1);
    const std::string_view chip = take_word(text);
    const std::optional<unsigned> offset = canonical_number(take_word(text), last_offset);
    const std::string_view polarity = take_word(text);
    const std::optional<lines::Bias> bias = bias_of(take_word(text));
    const std::optional<unsigned> interval = canonical_number(text, longest_interval_ms);
    if (!chip.starts_with(chip_prefix) ||
        !canonical_number(chip.substr(chip_prefix.size()), last_chip) || !offset || !bias ||
        !interval || (polarity != "active-low" && polarity != "active-high")) {
        return std::nullopt;
    }
    return GuardFile{std::string(chip),
                     *offset,
                     polarity == "active-low",
                     *bias,
                     std::chrono::milliseconds(*interval)};
}

}  // namespace nightlatch::guard
