// SPDX-License-Identifier: MIT
#include "wave/csv_reader.hpp"

#include "base/decimal.hpp"
#include "base/duration_text.hpp"
#include "wave/csv_layout.hpp"
#include "wave/csv_rows.hpp"
#include "wave/limits.hpp"
#include "wave/problems.hpp"
#include "wave/samples.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <limits>
#include <utility>

namespace nightlatch::wave {
namespace {

constexpr std::uint64_t ns_a_second = 1'000'000'000;

struct LevelWord {
    bool legal = false;
    std::optional<Level> level;
};

LevelWord level_of(std::string_view text) {
    struct Word {
        std::string_view text;
        std::optional<Level> level;
    };

    constexpr std::optional<Level> low = Level::inactive;
    constexpr std::optional<Level> high = Level::active;
    constexpr std::array words{Word{"0", low},
                               Word{"1", high},
                               Word{"low", low},
                               Word{"high", high},
                               Word{"l", low},
                               Word{"h", high},
                               Word{"false", low},
                               Word{"true", high},
                               Word{"x", std::nullopt},
                               Word{"z", std::nullopt},
                               Word{"-", std::nullopt},
                               Word{"", std::nullopt}};
    std::array<char, 5> small{};
    if (text.size() > small.size()) {
        return {};
    }
    std::transform(text.begin(), text.end(), small.begin(), [](char c) {
        return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    });
    for (const Word& word : words) {
        if (word.text == std::string_view(small.data(), text.size())) {
            return {true, word.level};
        }
    }
    return {};
}

/// The time of the sample with this number, rounded; `rate` as CsvPreamble bounds it. Nothing when
/// it is too long.
std::optional<std::int64_t> time_of_sample(std::uint64_t number, std::uint64_t rate) {
    constexpr std::uint64_t most_seconds = 4'000'000'000;  // as a decimal's limit
    if (number / rate >= most_seconds) {
        return std::nullopt;
    }
    const std::uint64_t rest = number % rate * ns_a_second;
    return static_cast<std::int64_t>(number / rate * ns_a_second + rest / rate +
                                     (rest % rate * 2 >= rate ? 1 : 0));
}

/// In nanovolts.
struct Volts {
    std::int64_t least = std::numeric_limits<std::int64_t>::max();
    std::int64_t most = std::numeric_limits<std::int64_t>::min();
};

class RowsReader {
public:
    RowsReader(CsvLines& lines, const CsvLayout& layout, Samples& samples, Problems& problems)
        : lines_(lines), begin_(lines), layout_(layout), samples_(samples), problems_(problems),
          mark_(layout.separator == ',' ? '.' : ',') {}

    void read();

    [[nodiscard]] Duration end() const noexcept { return latest_; }

    /// "goes from 12 mV to 3.28 V": the level's column, of all rows.
    [[nodiscard]] std::string range_text() const;

private:
    void take(const CsvLine& line);
    [[nodiscard]] std::optional<std::int64_t> time_by_count(std::string_view text) const;
    std::optional<std::int64_t> time_of(const CsvText& field);
    std::optional<std::int64_t> time_in_words(const CsvText& field);
    [[nodiscard]] Decimal number_of(std::string_view text, int exponent) const;
    [[nodiscard]] LevelWord level_in(std::string_view text) const;
    [[nodiscard]] Decimal volts_in(std::string_view text) const;
    [[nodiscard]] Volts volts() const;
    [[nodiscard]] std::string voltage_text(std::string_view text) const;
    void take_sample(std::int64_t time, std::size_t at, const CsvText& level);
    bool advance(std::int64_t time, std::size_t at);
    void stop(std::size_t at, std::string sentence);
    void judge_standstill();

    CsvLines& lines_;
    const CsvLines begin_;
    const CsvLayout& layout_;
    Samples& samples_;
    Problems& problems_;
    char mark_;  ///< a decimal mark that is legal beside the point
    std::vector<CsvText> fields_;
    std::uint64_t rows_ = 0;
    std::optional<std::int64_t> first_;  ///< nanoseconds, as the file counts them
    Duration latest_{};
    std::optional<Level> level_;  ///< the last that was known
    bool level_changed_ = false;
    bool stopped_ = false;
};

void RowsReader::read() {
    std::size_t last_row = 0;
    std::optional<CsvLine> line = layout_.first ? layout_.first : lines_.next();
    for (; line && !stopped_ && !problems_.full(); line = lines_.next()) {
        if (!line->comment) {
            last_row = line->at;
            take(*line);
        }
    }
    samples_.close();
    if (!stopped_ && samples_.too_many()) {
        problems_.error(last_row, samples_.too_many_text());
    }
    judge_standstill();
}

void RowsReader::take(const CsvLine& line) {
    const std::uint64_t row = rows_++;
    split_csv(line, layout_.separator, fields_);
    if (fields_.size() != layout_.columns) {
        problems_.error(line.at,
                        "this row has " + csv_fields_counted(fields_.size()) + ", the first has " +
                            std::to_string(layout_.columns));
        return;
    }
    const CsvText& level = fields_[layout_.level];
    if (!layout_.time) {
        const auto time = time_of_sample(row, layout_.rate);
        take_sample(time.value_or(2 * longest_capture.count()), line.at, level);
    } else if (const auto time = time_of(fields_[*layout_.time])) {
        take_sample(*time, fields_[*layout_.time].at, level);
    }
}

Decimal RowsReader::number_of(std::string_view text, int exponent) const {
    const Decimal number = decimal_of(text, exponent);
    return number.kind == Decimal::Kind::none ? decimal_of(text, exponent, mark_) : number;
}

/// Nothing when the time is no whole number of samples.
std::optional<std::int64_t> RowsReader::time_by_count(std::string_view text) const {
    std::uint64_t count = 0;
    const auto [last, failure] = std::from_chars(text.data(), text.data() + text.size(), count);
    if (layout_.period == 0 || failure != std::errc{} || last != text.data() + text.size() ||
        count % layout_.period != 0) {
        return std::nullopt;
    }
    return time_of_sample(count / layout_.period, layout_.rate);
}

/// Nothing, and told, when it is none.
std::optional<std::int64_t> RowsReader::time_of(const CsvText& field) {
    if (const auto time = time_by_count(field.text)) {
        return time;
    }
    const Decimal number = number_of(field.text, layout_.time_exponent);
    if (number.kind == Decimal::Kind::too_large) {
        problems_.error(field.at,
                        "the time " + in_quotes(field.text) +
                            " is beyond 126 years: is its unit "
                            "right?");
        return std::nullopt;
    }
    return number.is_number() ? std::optional(number.value) : time_in_words(field);
}

std::optional<std::int64_t> RowsReader::time_in_words(const CsvText& field) {
    std::string text(field.text.substr(0, 100));
    if (mark_ == ',') {
        std::replace(text.begin(), text.end(), ',', '.');
    }
    if (const auto duration = parse_duration(text)) {
        return duration->count();
    }
    problems_.error(field.at,
                    "a time is a number, or one with a unit of us, ms, s, min or h, up to 24 h, as "
                    "in \"12.5 ms\", not " +
                        in_quotes(field.text));
    return std::nullopt;
}

/// A voltage between the thresholds leaves the level as it was.
LevelWord RowsReader::level_in(std::string_view text) const {
    if (!layout_.thresholds) {
        return level_of(text);
    }
    const Decimal volts = volts_in(text);
    if (!volts.is_number()) {
        const LevelWord word = level_of(text);
        return {word.legal && !word.level, std::nullopt};
    }
    if (volts.value < layout_.thresholds->low) {
        return {true, Level::inactive};
    }
    return {true, volts.value > layout_.thresholds->high ? Level::active : level_};
}

Decimal RowsReader::volts_in(std::string_view text) const {
    const Decimal volts = volts_of(text, layout_.volt_exponent);
    return volts.kind == Decimal::Kind::none ? volts_of(text, layout_.volt_exponent, mark_) : volts;
}

Volts RowsReader::volts() const {
    Volts range;
    CsvLines lines = begin_;
    std::vector<CsvText> fields;
    std::optional<CsvLine> line = layout_.first ? layout_.first : lines.next();
    for (; line; line = lines.next()) {
        split_csv(*line, layout_.separator, fields);
        if (line->comment || fields.size() <= layout_.level) {
            continue;
        }
        if (const Decimal volts = volts_in(fields[layout_.level].text); volts.is_number()) {
            range = {std::min(range.least, volts.value), std::max(range.most, volts.value)};
        }
    }
    return range;
}

std::string RowsReader::range_text() const {
    const Volts range = volts();
    return range.least > range.most
               ? "has no voltage"
               : "goes from " + volts_text(range.least) + " to " + volts_text(range.most);
}

/// The proposal is the middle: what a person sees of the range says whether it will do.
std::string RowsReader::voltage_text(std::string_view text) const {
    const Volts range = volts();
    const std::string middle =
        range.least > range.most ? "1.6 V" : volts_text(range.least / 2 + range.most / 2);
    return in_quotes(text) +
           " looks like a voltage: say from where on it is high, as in --threshold " +
           in_quotes(middle) + "; " + in_quotes(layout_.name) + " " + range_text();
}

void RowsReader::take_sample(std::int64_t time, std::size_t at, const CsvText& level) {
    const LevelWord word = level_in(level.text);
    if (!word.legal && !layout_.thresholds && volts_in(level.text).kind != Decimal::Kind::none) {
        stop(level.at, voltage_text(level.text));
    } else if (!word.legal && layout_.thresholds) {
        problems_.error(
            level.at,
            "with a threshold a level is a voltage, as in \"3.28\" or \"12 mV\", and x, "
            "z, - or nothing where it is not known, not " +
                in_quotes(level.text));
    } else if (!word.legal) {
        problems_.error(level.at,
                        "a level is 0, 1, low, high, L, H, true or false, and x, z, - or nothing "
                        "where it is not known, not " +
                            in_quotes(level.text));
    } else if (advance(time, at)) {
        level_changed_ = level_changed_ || (word.level && level_ && word.level != level_);
        level_ = word.level ? word.level : level_;
        samples_.add(latest_, word.level);
        if (samples_.too_many()) {
            stop(at, samples_.too_many_text());
        }
    }
}

bool RowsReader::advance(std::int64_t time, std::size_t at) {
    if (!first_) {
        first_ = time;
    }
    const Duration since(time - *first_);  // decimals stay within 4e18, so this within 8e18
    if (since < latest_) {
        problems_.error(at, "the time goes back, by " + seconds_text(latest_ - since));
        return false;
    }
    if (since > longest_capture) {
        stop(at,
             "this is more than 366 days after the first row, which is a recording's most: is the "
             "time's unit right?");
        return false;
    }
    latest_ = since;
    return true;
}

void RowsReader::stop(std::size_t at, std::string sentence) {
    problems_.error(at, std::move(sentence));
    stopped_ = true;
}

/// All in one instant cannot be what was recorded: some programs write zeros when they do not know
/// their sample rate in time.
void RowsReader::judge_standstill() {
    if (level_changed_ && latest_ == Duration::zero() && !problems_.any_error()) {
        problems_.error(layout_.at,
                        "the level changes, but every row has the same time; export it with times "
                        "or, by the sample rate, without");
    }
}

}  // namespace

CaptureRead read_csv(std::string_view text,
                     std::string_view signal,
                     std::size_t most_edges,
                     const std::optional<Thresholds>& thresholds) {
    Problems problems(text);
    std::optional<Capture> capture;
    CsvLines lines(text);
    if (auto layout = read_csv_layout(lines, signal, problems)) {
        layout->thresholds = thresholds;
        Samples samples(most_edges);
        RowsReader reader(lines, *layout, samples, problems);
        reader.read();
        if (!problems.any_error()) {
            capture = std::move(samples).capture(layout->name, reader.end());
        }
        if (!capture && !problems.any_error()) {
            problems.error(layout->at, in_quotes(layout->name) + " is never low or high");
        } else if (capture && thresholds && capture->edges.empty()) {
            problems.warning(layout->at,
                             in_quotes(layout->name) + " never crosses the threshold: it " +
                                 reader.range_text());
        }
    }
    return {std::move(capture), problems.listed()};
}

}  // namespace nightlatch::wave
