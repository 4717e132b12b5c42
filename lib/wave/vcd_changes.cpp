// SPDX-License-Identifier: MIT
#include "wave/vcd_changes.hpp"

#include "wave/vcd_ids.hpp"
#include "wave/vcd_time.hpp"

#include <algorithm>
#include <charconv>
#include <optional>
#include <string>

namespace nightlatch::wave {
namespace {

/// What a character of a value says of a level; nothing for another character.
struct Value {
    bool legal = false;
    std::optional<Level> level;
};

Value value_of(char c) noexcept {
    switch (c) {
    case '0':
        return {true, Level::inactive};
    case '1':
        return {true, Level::active};
    case 'x':
    case 'X':
    case 'z':
    case 'Z':
        return {true, std::nullopt};
    default:
        return {};
    }
}

/// The part behind the declarations [IEEE 1364-2005, 18.2.1 to 18.2.3].
class ChangesReader {
public:
    ChangesReader(VcdFile& file, const VcdSignal* chosen, Samples& samples)
        : tokens_(file.tokens), problems_(file.problems), samples_(samples),
          ids_(file.header.signals), id_(chosen != nullptr ? chosen->id : std::string_view()),
          time_(file.header.timescale.value_or(VcdTimescale{})) {}

    void read();

    [[nodiscard]] Duration end() const noexcept { return time_.elapsed(); }

private:
    void take(const VcdToken& token);
    void take_time(const VcdToken& token);
    void go_to(std::uint64_t tick, const VcdToken& token);
    void take_scalar(const VcdToken& token);
    void take_vector(const VcdToken& token);
    void take_other(const VcdToken& token);
    void take_keyword(const VcdToken& token);
    void pass_over(const VcdToken& token);
    void close_dump(const VcdToken& before);
    std::string_view id_after(const VcdToken& value);
    bool known(std::string_view id, const VcdToken& token);
    void judge_edges(const VcdToken& token);
    void sample(std::optional<Level> level, const VcdToken& token);

    VcdTokens& tokens_;
    Problems& problems_;
    Samples& samples_;
    VcdIds ids_;
    std::string_view id_;
    VcdTime time_;
    std::string_view dump_;  ///< "$dumpvars", while its $end has not come
    bool stopped_ = false;
    bool told_of_rounding_ = false;
    bool told_of_stranger_ = false;
    bool told_of_open_dump_ = false;
};

void ChangesReader::read() {
    for (VcdToken token = tokens_.next(); !stopped_ && !problems_.full(); token = tokens_.next()) {
        if (token.text.empty()) {
            close_dump(token);
            samples_.close();
            return judge_edges(token);
        }
        take(token);
    }
}

void ChangesReader::take(const VcdToken& token) {
    switch (token.text.front()) {
    case '#':
        return take_time(token);
    case '0':
    case '1':
    case 'x':
    case 'X':
    case 'z':
    case 'Z':
        return take_scalar(token);
    case 'b':
    case 'B':
        return take_vector(token);
    case 'r':
    case 'R':
    case 's':  // a text, as some simulators write them
    case 'S':
        return take_other(token);
    case '$':
        return take_keyword(token);
    default:
        problems_.error(token.at,
                        "expected a time (#10), a value change (0!, 1!, x!, z!, b0 !, r0.5 !) or "
                        "a $dump section, not " +
                            in_quotes(token.text));
    }
}

void ChangesReader::take_time(const VcdToken& token) {
    const std::string_view digits = token.text.substr(1);
    std::uint64_t tick = 0;
    const char* const end = digits.data() + digits.size();
    const auto [last, failure] = std::from_chars(digits.data(), end, tick);
    close_dump(token);
    if (failure != std::errc{} || last != end) {
        problems_.error(token.at,
                        "a time is # and a whole number up to 18446744073709551615, not " +
                            in_quotes(token.text));
    } else if (time_.begun() && tick < time_.latest()) {
        problems_.error(token.at,
                        "the time goes back: " + in_quotes(token.text) + " after " +
                            in_quotes("#" + std::to_string(time_.latest())));
    } else {
        go_to(tick, token);
    }
}

void ChangesReader::go_to(std::uint64_t tick, const VcdToken& token) {
    if (!time_.is_whole(tick) && !told_of_rounding_) {
        told_of_rounding_ = true;
        problems_.warning(token.at,
                          "finer than a nanosecond: times are rounded, and of several changes "
                          "within one nanosecond only the last level counts");
    }
    if (!time_.advance(tick)) {
        problems_.error(token.at,
                        in_quotes(token.text) + " is more than 366 days after the start, which "
                                                "is a recording's most: is the timescale right?");
        stopped_ = true;
    }
}

void ChangesReader::take_scalar(const VcdToken& token) {
    const std::string_view id = token.text.substr(1);
    if (id.empty()) {
        problems_.error(token.at,
                        "the id code follows a value of one bit without a blank, as in \"1!\"");
        const VcdToken next = tokens_.next();
        if (!ids_.contains(next.text)) {
            tokens_.back_to(next);
        }
    } else if (id == id_) {
        sample(value_of(token.text.front()).level, token);
    } else {
        known(id, token);
    }
}

void ChangesReader::take_vector(const VcdToken& token) {
    const std::string_view bits = token.text.substr(1);
    const std::string_view id = id_after(token);
    const bool legal = !bits.empty() && std::all_of(bits.begin(), bits.end(), [](char c) {
        return value_of(c).legal;
    });
    if (!legal) {
        problems_.error(token.at,
                        "a vector's value is b and bits of 0, 1, x and z, not " +
                            in_quotes(token.text));
    } else if (known(id, token) && id == id_) {
        if (bits.size() == 1) {
            sample(value_of(bits.front()).level, token);
        } else {
            problems_.error(token.at,
                            in_quotes(token.text) + " has more than the signal's one bit");
        }
    }
}

/// Numbers and texts: of no use here, but their id code must not be taken for a value change.
void ChangesReader::take_other(const VcdToken& token) {
    const std::string_view id = id_after(token);
    if (known(id, token) && id == id_) {
        problems_.error(token.at,
                        in_quotes(token.text) + " is not a value of one bit: 0, 1, x and z are");
    }
}

void ChangesReader::take_keyword(const VcdToken& token) {
    const std::string_view word = token.text;
    if (word == "$end") {
        if (dump_.empty()) {
            problems_.error(token.at, "$end without a section that it could end");
        }
        dump_ = {};
    } else if (word == "$dumpvars" || word == "$dumpall" || word == "$dumpon" ||
               word == "$dumpoff") {
        close_dump(token);
        dump_ = word;
    } else {
        pass_over(token);
    }
}

void ChangesReader::pass_over(const VcdToken& token) {
    const std::string_view word = token.text;
    if (word == "$var" || word == "$scope" || word == "$upscope" || word == "$timescale" ||
        word == "$enddefinitions") {
        problems_.error(token.at, std::string(word) + " after $enddefinitions");
    } else if (word != "$comment" && word != "$date" && word != "$version" && !told_of_stranger_) {
        told_of_stranger_ = true;
        problems_.warning(token.at,
                          in_quotes(word) +
                              " is not a keyword of IEEE 1364; passed over up to its $end");
    }
    skip_vcd_section(tokens_, token, problems_);
}

void ChangesReader::close_dump(const VcdToken& before) {
    if (!dump_.empty() && !told_of_open_dump_) {
        told_of_open_dump_ = true;
        problems_.warning(before.at, std::string(dump_) + " before this has no $end");
    }
    dump_ = {};
}

/// Of a value that stands apart from it; empty, and told, at the end of the file.
std::string_view ChangesReader::id_after(const VcdToken& value) {
    const VcdToken id = tokens_.next();
    if (id.text.empty()) {
        problems_.error(value.at, "the file ends before the id code of " + in_quotes(value.text));
    }
    return id.text;
}

bool ChangesReader::known(std::string_view id, const VcdToken& token) {
    const bool is_known = ids_.contains(id);
    if (!is_known && !id.empty()) {
        problems_.error(token.at, "no $var declares the id code " + in_quotes(id));
    }
    if (!time_.begun()) {
        time_.advance(0);  // values before the first time are of 0
    }
    return is_known;
}

void ChangesReader::judge_edges(const VcdToken& token) {
    if (samples_.too_many()) {
        problems_.error(token.at, samples_.too_many_text());
        stopped_ = true;
    }
}

void ChangesReader::sample(std::optional<Level> level, const VcdToken& token) {
    if (!time_.begun()) {
        time_.advance(0);
    }
    samples_.add(time_.elapsed(), level);
    judge_edges(token);
}

}  // namespace

Duration read_vcd_changes(VcdFile& file, const VcdSignal* chosen, Samples& samples) {
    ChangesReader reader(file, chosen, samples);
    reader.read();
    return reader.end();
}

}  // namespace nightlatch::wave
