// SPDX-License-Identifier: MIT
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::wave {

/// Offsets are into the file; no blanks at either end.
struct CsvText {
    std::string_view text;
    std::size_t at = 0;
};

struct CsvLine {
    std::string_view text;
    std::size_t at = 0;
    bool comment = false;  ///< begins with ';' or '#'; `text` is without them then
};

/// The lines of a file, without blank ones and without a byte order mark.
class CsvLines {
public:
    explicit CsvLines(std::string_view text);

    std::optional<CsvLine> next() noexcept;

private:
    std::string_view text_;
    std::size_t at_ = 0;
};

/// More columns are a mistake in the separator, or no table.
constexpr std::size_t most_csv_fields = 1'000;

/// "3 fields", "more than 1,000 fields".
std::string csv_fields_counted(std::size_t count);

/// Puts the fields of a row into `fields`, at most one more than `most_csv_fields`. In quotation
/// marks a separator is a letter like another; they are taken off.
void split_csv(const CsvLine& line, char separator, std::vector<CsvText>& fields);

/// A tab where there is one, else a semicolon, else a comma: of what stands outside quotation
/// marks.
char csv_separator(std::string_view row) noexcept;

}  // namespace nightlatch::wave
