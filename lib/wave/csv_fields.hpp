// SPDX-License-Identifier: MIT
#pragma once

#include "base/decimal.hpp"
#include "base/time.hpp"
#include "wave/csv_layout.hpp"
#include "wave/csv_rows.hpp"
#include "wave/problems.hpp"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace nightlatch::wave {

/// A field's voltage in nanovolts, in its own unit or the column's.
Decimal csv_volts(std::string_view text, const CsvLayout& layout);

/// The times of a table's rows, one after the other; says what is wrong with them. `layout` and
/// `problems` must outlive it.
class CsvTimes {
public:
    CsvTimes(const CsvLayout& layout, Problems& problems)
        : layout_(layout), problems_(problems), mark_(layout.separator == ',' ? '.' : ',') {}

    struct Time {
        std::int64_t value = 0;  ///< nanoseconds, as the file counts them
        std::size_t at = 0;      ///< offset of what it was read from
    };

    /// Of the next row; nothing, and told, when it has not as many fields as the first or no time.
    std::optional<Time> of(const CsvLine& line, std::span<const CsvText> fields);

    /// Goes there from the row before; false, and told, when it is earlier, or too late.
    bool advance(Time time);

    /// Since the first row.
    [[nodiscard]] Duration latest() const noexcept { return latest_; }

    /// What is wrong is so with all that follows: stop reading.
    [[nodiscard]] bool stopped() const noexcept { return stopped_; }

private:
    std::optional<std::int64_t> time_of(const CsvText& field);
    [[nodiscard]] std::optional<std::int64_t> time_by_count(std::string_view text) const;
    std::optional<std::int64_t> time_in_words(const CsvText& field);
    [[nodiscard]] Decimal number_of(std::string_view text, int exponent) const;

    const CsvLayout& layout_;
    Problems& problems_;
    char mark_;  ///< a decimal mark that is legal beside the point
    std::uint64_t rows_ = 0;
    std::optional<std::int64_t> first_;
    Duration latest_{};
    bool stopped_ = false;
};

}  // namespace nightlatch::wave
