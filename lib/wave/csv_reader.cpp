// SPDX-License-Identifier: MIT
#include "wave/csv_reader.hpp"

#include "base/decimal.hpp"
#include "wave/csv_fields.hpp"
#include "wave/csv_layout.hpp"
#include "wave/csv_rows.hpp"
#include "wave/problems.hpp"
#include "wave/samples.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <utility>

namespace nightlatch::wave {
namespace {

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

/// In nanovolts.
struct Volts {
    std::int64_t least = std::numeric_limits<std::int64_t>::max();
    std::int64_t most = std::numeric_limits<std::int64_t>::min();
};

class RowsReader {
public:
    RowsReader(CsvLines& lines, const CsvLayout& layout, Samples& samples, Problems& problems)
        : lines_(lines), begin_(lines), layout_(layout), samples_(samples), problems_(problems),
          times_(layout, problems) {}

    void read();

    [[nodiscard]] Duration end() const noexcept { return times_.latest(); }

    /// "goes from 12 mV to 3.28 V": the level's column, of all rows.
    [[nodiscard]] std::string range_text() const;

private:
    void take(const CsvLine& line);
    [[nodiscard]] LevelWord level_in(std::string_view text) const;

    [[nodiscard]] Decimal volts_in(std::string_view text) const { return csv_volts(text, layout_); }

    [[nodiscard]] Volts volts() const;
    [[nodiscard]] std::string voltage_text(std::string_view text) const;
    void take_sample(std::int64_t time, std::size_t at, const CsvText& level);
    void stop(std::size_t at, std::string sentence);
    void judge_standstill();

    CsvLines& lines_;
    const CsvLines begin_;
    const CsvLayout& layout_;
    Samples& samples_;
    Problems& problems_;
    CsvTimes times_;
    std::vector<CsvText> fields_;
    std::optional<Level> level_;  ///< the last that was known
    bool level_changed_ = false;
    bool stopped_ = false;
};

void RowsReader::read() {
    std::size_t last_row = 0;
    std::optional<CsvLine> line = layout_.first ? layout_.first : lines_.next();
    for (; line && !stopped_ && !times_.stopped() && !problems_.full(); line = lines_.next()) {
        if (!line->comment) {
            last_row = line->at;
            take(*line);
        }
    }
    samples_.close();
    if (!stopped_ && !times_.stopped() && samples_.too_many()) {
        problems_.error(last_row, samples_.too_many_text());
    }
    judge_standstill();
}

void RowsReader::take(const CsvLine& line) {
    split_csv(line, layout_.separator, fields_);
    if (const auto time = times_.of(line, fields_)) {
        take_sample(time->value, time->at, fields_[layout_.level]);
    }
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
    } else if (times_.advance({time, at})) {
        level_changed_ = level_changed_ || (word.level && level_ && word.level != level_);
        level_ = word.level ? word.level : level_;
        samples_.add(times_.latest(), word.level);
        if (samples_.too_many()) {
            stop(at, samples_.too_many_text());
        }
    }
}

void RowsReader::stop(std::size_t at, std::string sentence) {
    problems_.error(at, std::move(sentence));
    stopped_ = true;
}

/// All in one instant cannot be what was recorded: some programs write zeros when they do not know
/// their sample rate in time.
void RowsReader::judge_standstill() {
    if (level_changed_ && times_.latest() == Duration::zero() && !problems_.any_error()) {
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
