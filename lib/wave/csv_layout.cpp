// SPDX-License-Identifier: MIT
#include "wave/csv_layout.hpp"

#include "base/decimal.hpp"
#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "wave/csv_preamble.hpp"
#include "wave/csv_time_name.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::wave {
namespace {

/// Does it read as a time, or as any other number?
bool is_numeric(const CsvText& field, char separator) {
    const char mark =
        field.text.find(',') != std::string_view::npos && separator != ',' ? ',' : '.';
    return decimal_of(field.text, 0, mark).kind != Decimal::Kind::none ||
           parse_duration(field.text).has_value();
}

/// "CH1 (mV)" as "CH1" and its unit.
struct LevelName {
    std::string_view bare;
    std::optional<int> volt_exponent;
};

LevelName level_name(std::string_view name) {
    const std::size_t before = name.find_last_of(" ([_/");
    const std::size_t unit = before == std::string_view::npos ? 0 : before + 1;
    const auto exponent = volt_unit(trimmed(name.substr(unit), ")]"));
    return {exponent ? trimmed(name.substr(0, unit), " ([_/") : name, exponent};
}

std::string_view without_brackets(const CsvText& field) {
    return trimmed(field.text, "()[] ");
}

class LayoutReader {
public:
    LayoutReader(CsvLines& lines, std::string_view wanted, Problems& problems)
        : lines_(lines), preamble_(read_csv_preamble(lines)), wanted_(wanted), problems_(problems) {
    }

    std::optional<CsvLayout> read();

private:
    bool split_first();

    [[nodiscard]] bool by_channels() const { return !preamble_.channels.empty(); }

    [[nodiscard]] bool is_header() const;
    void read_units();
    [[nodiscard]] std::optional<std::size_t> named_time() const;
    bool find_time();
    bool find_unit();
    void count_by_rate();
    bool find_level();
    [[nodiscard]] std::vector<std::size_t> level_columns() const;
    [[nodiscard]] std::string_view name_of(std::size_t column) const;
    bool choose(const std::vector<std::size_t>& columns);
    void tell_unknown(const std::vector<std::size_t>& columns);

    CsvLines& lines_;
    CsvPreamble preamble_;
    std::string_view wanted_;
    Problems& problems_;
    CsvLayout layout_;
    std::vector<CsvText> fields_;  ///< of the first row
    std::vector<CsvText> units_;   ///< of the second row, when it is one of units; else none
    bool header_ = false;
};

std::optional<CsvLayout> LayoutReader::read() {
    if (split_first() && find_time() && find_unit() && find_level()) {
        return std::move(layout_);
    }
    return std::nullopt;
}

bool LayoutReader::split_first() {
    if (!preamble_.first) {
        problems_.error(0, "the file has no rows: a row is a time and a level, as in \"0.25,1\"");
        return false;
    }
    layout_.separator = csv_separator(preamble_.first->text);
    layout_.rate = preamble_.rate;
    split_csv(*preamble_.first, layout_.separator, fields_);
    layout_.columns = fields_.size();
    if (layout_.columns > most_csv_fields) {
        problems_.error(preamble_.first->at,
                        "the first row has " + csv_fields_counted(layout_.columns) +
                            "; export only the button's");
        return false;
    }
    if (by_channels() && fields_.size() < preamble_.channels.size()) {
        preamble_.channels.clear();  // names with commas, which cannot be told apart
    }
    header_ = is_header();
    if (!header_) {
        layout_.first = preamble_.first;
    } else {
        read_units();
    }
    return true;
}

/// Oscilloscopes write the units into a row of their own: "Source,CH1", and then "Second,Volt".
void LayoutReader::read_units() {
    CsvLines ahead = lines_;
    std::optional<CsvLine> line = ahead.next();
    while (line && line->comment) {
        line = ahead.next();
    }
    if (!line) {
        return;
    }
    std::vector<CsvText> units;
    split_csv(*line, layout_.separator, units);
    const bool all_units = std::all_of(units.begin(), units.end(), [](const CsvText& field) {
        const std::string_view text = without_brackets(field);
        return csv_time_unit(text).has_value() || volt_unit(text).has_value();
    });
    if (all_units && units.size() == fields_.size()) {
        units_ = std::move(units);
        lines_ = ahead;
    }
}

/// A row of names does not begin with a number. Channels may be named "0" and "1"; the comment says
/// so.
bool LayoutReader::is_header() const {
    const bool same_as_channels =
        std::equal(fields_.begin(),
                   fields_.end(),
                   preamble_.channels.begin(),
                   preamble_.channels.end(),
                   [](const CsvText& field, std::string_view name) { return field.text == name; });
    return same_as_channels || !is_numeric(fields_.front(), layout_.separator);
}

std::optional<std::size_t> LayoutReader::named_time() const {
    if (!header_) {
        return std::nullopt;
    }
    for (std::size_t i = 0; i < fields_.size(); ++i) {
        if (units_.empty() ? csv_time_name(fields_[i].text).is_time
                           : csv_time_unit(without_brackets(units_[i])).has_value()) {
            return i;
        }
    }
    return std::nullopt;
}

bool LayoutReader::find_time() {
    const auto named = named_time();
    const auto is_number = [&](const CsvText& field) {
        return is_numeric(field, layout_.separator);
    };
    if (by_channels()) {
        const bool trigger = header_ && fields_.back().text == "Trigger";
        if (fields_.size() > preamble_.channels.size() + (trigger ? 1 : 0)) {
            layout_.time = 0;
        }
    } else if (named) {
        layout_.time = named;
    } else if (header_ && std::any_of(fields_.begin(), fields_.end(), is_number)) {
        problems_.error(fields_.front().at,
                        "the first row is neither of names nor of a time and a level");
        return false;
    } else if (header_ ? layout_.rate == 0 : fields_.size() > 1) {
        layout_.time = 0;
    }
    if (!layout_.time && layout_.rate == 0) {
        problems_.error(fields_.front().at,
                        "no column of times, and no comment \"Samplerate: 1 MHz\" to make them of");
        return false;
    }
    return true;
}

bool LayoutReader::find_unit() {
    if (layout_.time && by_channels() && layout_.rate > 0) {
        count_by_rate();
    } else if (layout_.time && !units_.empty()) {
        layout_.time_exponent = csv_time_unit(without_brackets(units_[*layout_.time])).value_or(9);
    } else if (layout_.time && header_) {
        const CsvText& field = fields_[*layout_.time];
        const auto exponent = csv_time_name(field.text).exponent;
        if (!exponent) {
            problems_.error(field.at,
                            in_quotes(field.text) +
                                " has no unit that is known: use s, ms, us or ns, as in "
                                "\"Time [ms]\"; without one, times are seconds");
            return false;
        }
        layout_.time_exponent = *exponent;
    }
    return true;
}

/// sigrok counts in the largest thousandth of a second in which a sample lasts one or more, and
/// drops the fraction: 333 ns a sample at 3 MHz [libsigrok 0.5.2, src/output/csv.c, gen_header].
void LayoutReader::count_by_rate() {
    std::uint64_t units_a_second = 1;
    layout_.time_exponent = 9;
    while (units_a_second < layout_.rate) {
        units_a_second *= 1'000;
        layout_.time_exponent -= 3;
    }
    layout_.period = units_a_second / layout_.rate;
}

std::vector<std::size_t> LayoutReader::level_columns() const {
    std::vector<std::size_t> columns;
    columns.reserve(fields_.size());
    const std::size_t first = by_channels() && layout_.time ? 1 : 0;
    const std::size_t end = by_channels() ? first + preamble_.channels.size() : fields_.size();
    for (std::size_t i = first; i < std::min(end, fields_.size()); ++i) {
        if (layout_.time != i) {
            columns.push_back(i);
        }
    }
    return columns;
}

std::string_view LayoutReader::name_of(std::size_t column) const {
    if (by_channels()) {
        return preamble_.channels[column - (layout_.time ? 1 : 0)];
    }
    return header_ ? fields_[column].text : std::string_view();
}

bool LayoutReader::find_level() {
    const std::vector<std::size_t> columns = level_columns();
    if (columns.empty()) {
        problems_.error(fields_.front().at,
                        "no column of levels beside the times; \"0.25,1\" has both");
        return false;
    }
    if (!choose(columns)) {
        return false;
    }
    layout_.name = name_of(layout_.level);
    if (layout_.name.empty()) {
        layout_.name = "column " + std::to_string(layout_.level + 1);
    }
    layout_.at = fields_[layout_.level].at;
    layout_.volt_exponent = level_name(layout_.name).volt_exponent.value_or(9);
    if (!units_.empty()) {
        const std::string_view unit = without_brackets(units_[layout_.level]);
        layout_.volt_exponent = volt_unit(unit).value_or(layout_.volt_exponent);
    }
    return true;
}

bool LayoutReader::choose(const std::vector<std::size_t>& columns) {
    std::vector<std::size_t> found = columns;
    if (!wanted_.empty()) {
        const auto other = [&](std::size_t column) {
            const std::string_view name = name_of(column);
            return name != wanted_ && level_name(name).bare != wanted_;
        };
        found.erase(std::remove_if(found.begin(), found.end(), other), found.end());
    }
    if (found.size() == 1) {
        layout_.level = found.front();
        return true;
    }
    if (!header_ && !by_channels()) {
        problems_.error(fields_.front().at,
                        "no row of names at the start, so a row is a time and one level: no column "
                        "can be chosen by name");
    } else if (found.empty()) {
        tell_unknown(columns);
    } else {
        std::vector<std::string_view> names;
        names.reserve(found.size());
        for (const std::size_t column : found) {
            names.push_back(name_of(column));
        }
        problems_.error(fields_[found[1]].at,
                        wanted_.empty() ? "several columns of levels: " + signal_choice(names)
                                        : "several columns are named " + in_quotes(wanted_));
    }
    return false;
}

void LayoutReader::tell_unknown(const std::vector<std::size_t>& columns) {
    std::vector<std::string_view> names;
    names.reserve(columns.size());
    for (const std::size_t column : columns) {
        names.push_back(name_of(column));
    }
    problems_.error(fields_.front().at,
                    "no column of levels is named " + in_quotes(wanted_) +
                        nearest_hint(wanted_, names) + "; there " +
                        (names.size() == 1 ? "is " : "are ") + names_listed(names));
}

}  // namespace

std::optional<CsvLayout> read_csv_layout(CsvLines& lines,
                                         std::string_view wanted,
                                         Problems& problems) {
    return LayoutReader(lines, wanted, problems).read();
}

}  // namespace nightlatch::wave
