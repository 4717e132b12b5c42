// SPDX-License-Identifier: MIT
#include "wave/volts_reader.hpp"

#include "base/text.hpp"
#include "wave/csv_fields.hpp"
#include "wave/csv_layout.hpp"
#include "wave/csv_rows.hpp"
#include "wave/problems.hpp"

#include <algorithm>
#include <array>
#include <chrono>
#include <utility>

namespace nightlatch::wave {
namespace {

constexpr double nanovolts = 1e9;

bool is_unknown(std::string_view text) {
    constexpr std::array<std::string_view, 6> words{"", "-", "x", "X", "z", "Z"};
    return std::find(words.begin(), words.end(), text) != words.end();
}

/// Reads the rows once, for all columns.
class VoltRows {
public:
    VoltRows(std::vector<CsvLayout> layouts, Problems& problems)
        : layouts_(std::move(layouts)), problems_(problems), times_(layouts_.front(), problems),
          curves_(layouts_.size()) {}

    void read(CsvLines& lines) {
        std::optional<CsvLine> line =
            layouts_.front().first ? layouts_.front().first : lines.next();
        std::size_t rows = 0;
        for (; line && !times_.stopped() && !problems_.full(); line = lines.next()) {
            if (line->comment) {
                continue;
            }
            if (++rows > most_volt_rows) {
                problems_.error(line->at,
                                "more than 4,000,000 rows: export fewer, a thousand a second show "
                                "all that a supply does");
                return;
            }
            take(*line);
        }
        judge();
    }

    std::vector<std::vector<VoltPoint>> curves() && { return std::move(curves_); }

private:
    void take(const CsvLine& line) {
        split_csv(line, layouts_.front().separator, fields_);
        const auto time = times_.of(line, fields_);
        if (!time || !times_.advance(*time)) {
            return;
        }
        const double at = std::chrono::duration<double>(times_.latest()).count();
        for (std::size_t i = 0; i < layouts_.size(); ++i) {
            const CsvText& field = fields_[layouts_[i].level];
            const Decimal volts = csv_volts(field.text, layouts_[i]);
            if (volts.is_number()) {
                curves_[i].push_back({at, static_cast<double>(volts.value) / nanovolts});
            } else if (!is_unknown(field.text)) {
                problems_.error(field.at,
                                "a voltage is a number, as in \"3.28\" or \"12 mV\", and x, z, - "
                                "or nothing where it is not known, not " +
                                    in_quotes(field.text));
            }
        }
    }

    void judge() {
        for (std::size_t i = 0; i < layouts_.size() && !problems_.any_error(); ++i) {
            const CsvLayout& layout = layouts_[i];
            const auto is_level = [](const VoltPoint& point) {
                return point.volts == 0.0 || point.volts == 1.0;
            };
            if (curves_[i].empty()) {
                problems_.error(layout.at, in_quotes(layout.name) + " has no voltage");
            } else if (std::all_of(curves_[i].begin(), curves_[i].end(), is_level)) {
                problems_.error(layout.at,
                                in_quotes(layout.name) +
                                    " has 0 and 1 only: levels, and wanted are voltages, as an "
                                    "oscilloscope exports them");
            }
        }
    }

    std::vector<CsvLayout> layouts_;
    Problems& problems_;
    CsvTimes times_;
    std::vector<std::vector<VoltPoint>> curves_;
    std::vector<CsvText> fields_;
};

}  // namespace

VoltsRead read_volts(const CaptureFile& file, std::span<const std::string> names) {
    if (const auto why = why_no_table(file)) {
        return {std::nullopt, {{true, 1, 1, *why}}};
    }
    Problems problems(file.text);
    std::vector<CsvLayout> layouts;
    layouts.reserve(names.size());
    CsvLines rows(file.text);
    for (const std::string& name : names) {
        CsvLines lines(file.text);
        auto layout = read_csv_layout(lines, name, problems);
        if (!layout) {
            return {std::nullopt, problems.listed()};
        }
        layouts.push_back(std::move(*layout));
        rows = lines;
    }
    VoltRows reader(std::move(layouts), problems);
    reader.read(rows);
    VoltsRead read;
    if (!problems.any_error()) {
        read.curves = std::move(reader).curves();
    }
    read.problems = problems.listed();
    return read;
}

}  // namespace nightlatch::wave
