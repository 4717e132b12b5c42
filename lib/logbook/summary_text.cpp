// SPDX-License-Identifier: MIT
#include "logbook/summary_text.hpp"

#include <array>
#include <charconv>

namespace nightlatch::logbook {
namespace {

constexpr std::string_view summary_head = "nightlatch-run 1\n";
constexpr std::size_t longest_summary = 4096;
constexpr std::size_t longest_word = 200;

struct Count {
    std::string_view key;
    std::uint64_t Summary::*value;
};

struct Word {
    std::string_view key;
    std::string Summary::*value;
};

struct When {
    std::string_view key;
    std::optional<Instant> Summary::*value;
};

constexpr std::array summary_counts{Count{"near_misses", &Summary::near_misses},
                                    Count{"presses", &Summary::presses},
                                    Count{"restarts", &Summary::restarts}};
constexpr std::array summary_words{Word{"action", &Summary::action},
                                   Word{"decided_by", &Summary::decided_by}};
constexpr std::array summary_stamps{When{"asked_us", &Summary::asked},
                                    When{"decided_us", &Summary::decided},
                                    When{"going_down_us", &Summary::going_down}};

std::string line_of(std::string_view key, std::string_view value) {
    return std::string(key) + " = " + std::string(value) + "\n";
}

std::int64_t microseconds(Instant instant) {
    return std::chrono::duration_cast<std::chrono::microseconds>(instant.time_since_epoch())
        .count();
}

std::optional<std::uint64_t> number(std::string_view text) {
    std::uint64_t value = 0;
    const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
    const bool whole = read.ec == std::errc{} && read.ptr == text.data() + text.size();
    return whole && value <= most_number ? std::optional(value) : std::nullopt;
}

/// The row of the key, or null.
template <class Rows>
const auto* row_of(const Rows& rows, std::string_view key) {
    const typename Rows::value_type* found = nullptr;
    for (const auto& row : rows) {
        found = row.key == key ? &row : found;
    }
    return found;
}

/// False for what the format does not have.
bool take(Summary& summary, std::string_view key, std::string_view value) {
    if (const auto* word = row_of(summary_words, key)) {
        summary.*word->value = value;
        return value.size() <= longest_word;
    }
    const auto read = number(value);
    if (!read) {
        return false;
    }
    if (const auto* count = row_of(summary_counts, key)) {
        summary.*count->value = *read;
        return true;
    }
    if (const auto* when = row_of(summary_stamps, key)) {
        summary.*when->value = Instant(std::chrono::microseconds(*read));
        return true;
    }
    return false;
}

}  // namespace

std::string summary_text(const Summary& summary) {
    std::string text(summary_head);
    for (const Word& word : summary_words) {
        if (const std::string& value = summary.*word.value; !value.empty()) {
            text += line_of(word.key, value);
        }
    }
    for (const Count& count : summary_counts) {
        text += line_of(count.key, std::to_string(summary.*count.value));
    }
    for (const When& when : summary_stamps) {
        if (const auto& stamp = summary.*when.value) {
            text += line_of(when.key, std::to_string(microseconds(*stamp)));
        }
    }
    return text;
}

std::optional<Summary> parse_summary_text(std::string_view text) {
    if (text.size() > longest_summary || !text.starts_with(summary_head)) {
        return std::nullopt;
    }
    text.remove_prefix(summary_head.size());
    Summary summary;
    while (!text.empty()) {
        const std::size_t end = text.find('\n');
        const std::string_view line = text.substr(0, end);
        const std::size_t equals = line.find(" = ");
        if (end == std::string_view::npos || equals == std::string_view::npos ||
            !take(summary, line.substr(0, equals), line.substr(equals + 3))) {
            return std::nullopt;
        }
        text.remove_prefix(end + 1);
    }
    return summary;
}

}  // namespace nightlatch::logbook
