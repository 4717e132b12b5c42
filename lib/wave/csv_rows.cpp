// SPDX-License-Identifier: MIT
#include "wave/csv_rows.hpp"

#include "base/text.hpp"

#include <algorithm>

namespace nightlatch::wave {
namespace {

constexpr std::string_view blanks = " \t\r\v\f";
constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

/// As an analyser's program pads it; a tab that separates is none of a field's.
CsvText field_of(std::string_view text, std::size_t at) noexcept {
    const std::size_t first = std::min(text.find_first_not_of(blanks), text.size());
    return {trimmed(text, blanks), at + first};
}

CsvText without_quotes(CsvText field) noexcept {
    if (field.text.size() >= 2 && field.text.front() == '"' && field.text.back() == '"') {
        return field_of(field.text.substr(1, field.text.size() - 2), field.at + 1);
    }
    return field;
}

/// The next separator from `from` on that no quotation marks enclose, or the end.
std::size_t separator_after(std::string_view row, std::size_t from, char separator) noexcept {
    bool quoted = false;
    for (std::size_t i = from; i < row.size(); ++i) {
        if (row[i] == '"') {
            quoted = !quoted;
        } else if (row[i] == separator && !quoted) {
            return i;
        }
    }
    return row.size();
}

}  // namespace

CsvLines::CsvLines(std::string_view text) : text_(text) {
    if (text.starts_with(byte_order_mark)) {
        at_ = byte_order_mark.size();
    }
}

std::optional<CsvLine> CsvLines::next() noexcept {
    while (at_ < text_.size()) {
        const std::size_t start = at_;
        const std::size_t end = std::min(text_.find('\n', start), text_.size());
        at_ = end + 1;
        const std::string_view line = text_.substr(start, end - start);
        CsvText content = field_of(line, start);
        if (content.text.empty()) {
            continue;
        }
        if (content.text.front() != ';' && content.text.front() != '#') {
            return CsvLine{line, start, false};
        }
        const std::size_t leader = content.text.find_first_not_of(";#");
        content = field_of(content.text.substr(std::min(leader, content.text.size())), start);
        return CsvLine{content.text, start, true};
    }
    return std::nullopt;
}

std::string csv_fields_counted(std::size_t count) {
    if (count > most_csv_fields) {
        return "more than 1,000 fields";
    }
    return count == 1 ? "1 field" : std::to_string(count) + " fields";
}

void split_csv(const CsvLine& line, char separator, std::vector<CsvText>& fields) {
    fields.clear();
    std::size_t start = 0;
    for (;;) {
        const std::size_t end = separator_after(line.text, start, separator);
        const std::string_view field = line.text.substr(start, end - start);
        fields.push_back(without_quotes(field_of(field, line.at + start)));
        if (end == line.text.size() || fields.size() > most_csv_fields) {
            return;
        }
        start = end + 1;
    }
}

char csv_separator(std::string_view row) noexcept {
    for (const char separator : {'\t', ';'}) {
        if (separator_after(row, 0, separator) < row.size()) {
            return separator;
        }
    }
    return ',';
}

}  // namespace nightlatch::wave
