// SPDX-License-Identifier: MIT
#include "wave/csv_preamble.hpp"

#include "base/decimal.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::wave {
namespace {

constexpr std::int64_t highest_rate = 10'000'000'000;

/// What stands behind `label`; nothing when the text does not begin with it.
std::optional<std::string_view> after(std::string_view text, std::string_view label) {
    if (!text.starts_with(label)) {
        return std::nullopt;
    }
    text.remove_prefix(label.size());
    text.remove_prefix(std::min(text.find_first_not_of(' '), text.size()));
    return text;
}

/// "2.5 MHz", or hertz without a unit; 0 for anything else.
std::uint64_t rate_of(std::string_view text) {
    struct RateUnit {
        std::string_view name;
        int exponent;
    };

    constexpr std::array units{RateUnit{"", 0},
                               RateUnit{"Hz", 0},
                               RateUnit{"kHz", 3},
                               RateUnit{"MHz", 6},
                               RateUnit{"GHz", 9}};
    text = text.substr(0, text.find_last_not_of(" \t\r") + 1);
    const std::size_t blank = std::min(text.find(' '), text.size());
    const std::string_view unit = *after(text.substr(blank), "");
    for (const RateUnit& one : units) {
        const Decimal rate = decimal_of(text.substr(0, blank), one.exponent);
        if (one.name == unit && rate.is_number() && rate.value >= 1 && rate.value <= highest_rate) {
            return static_cast<std::uint64_t>(rate.value);
        }
    }
    return 0;
}

std::vector<std::string_view> channels_of(std::string_view text) {
    constexpr std::string_view colon = "): ";
    std::vector<std::string_view> names;
    const std::size_t list = text.find(colon);
    if (list == std::string_view::npos) {
        return names;
    }
    text.remove_prefix(list + colon.size());
    for (;;) {
        const std::size_t end = text.find(", ");
        names.push_back(text.substr(0, end));
        if (end == std::string_view::npos || names.size() > most_csv_fields) {
            return names;
        }
        text.remove_prefix(end + 2);
    }
}

void note_comment(std::string_view text, CsvPreamble& preamble) {
    if (const auto rate = after(text, "Samplerate:")) {
        preamble.rate = rate_of(*rate);
    } else if (text.starts_with("Channels (")) {
        preamble.channels = channels_of(text);
    }
}

}  // namespace

CsvPreamble read_csv_preamble(CsvLines& lines) {
    CsvPreamble preamble;
    for (;;) {
        const std::optional<CsvLine> line = lines.next();
        if (!line) {
            return preamble;
        }
        if (line->comment) {
            note_comment(line->text, preamble);
            continue;
        }
        // Where it learns of the rate late sigrok says so without a comment's sign.
        const auto late = after(line->text, "META samplerate:");
        if (!late) {
            preamble.first = line;
            return preamble;
        }
        preamble.rate = rate_of(*late);
    }
}

}  // namespace nightlatch::wave
