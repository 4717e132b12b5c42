// SPDX-License-Identifier: MIT
#include "wave/vcd_header.hpp"

#include <algorithm>
#include <array>
#include <charconv>

namespace nightlatch::wave {
namespace {

constexpr std::size_t most_signals = 100'000;
constexpr std::size_t longest_name = 1'000;
constexpr std::size_t most_words = 32;  // of a section; what follows is not looked at

bool declares(std::string_view word) {
    constexpr std::array<std::string_view, 8> keywords{"$comment",
                                                       "$date",
                                                       "$enddefinitions",
                                                       "$scope",
                                                       "$timescale",
                                                       "$upscope",
                                                       "$var",
                                                       "$version"};
    return std::find(keywords.begin(), keywords.end(), word) != keywords.end();
}

/// Where it begins, among the first 4,096 characters.
std::optional<std::size_t> first_word_that(std::string_view text,
                                           bool (*test)(std::string_view)) noexcept {
    constexpr std::size_t most_before = 4'096;
    VcdTokens tokens(text.substr(0, most_before));
    for (VcdToken token = tokens.next(); !token.text.empty(); token = tokens.next()) {
        if (test(token.text)) {
            return token.at;
        }
    }
    return std::nullopt;
}

/// What only value changes begin with: the definitions' end is missing.
bool begins_changes(std::string_view word) {
    return word.starts_with('#') || word.starts_with("$dump");
}

/// The printable ASCII characters [IEEE 1364-2005, 18.2.1: identifier codes].
bool is_id(std::string_view text) {
    return std::all_of(text.begin(), text.end(), [](char c) { return c > ' ' && c < '\x7f'; });
}

/// "10us" to its length, without white space between number and unit.
std::optional<VcdTimescale> timescale_of(std::string_view text) {
    struct Unit {
        std::string_view name;
        std::uint64_t femtoseconds;
    };

    constexpr std::array units{Unit{"s", 1'000'000'000'000'000},
                               Unit{"ms", 1'000'000'000'000},
                               Unit{"us", 1'000'000'000},
                               Unit{"ns", 1'000'000},
                               Unit{"ps", 1'000},
                               Unit{"fs", 1}};
    constexpr std::uint64_t one_ns = 1'000'000;
    const std::size_t digits = std::min(text.find_first_not_of("10"), text.size());
    const std::string_view number = text.substr(0, digits);
    if (number != "1" && number != "10" && number != "100") {
        return std::nullopt;
    }
    const std::uint64_t count = number.size() == 1 ? 1 : number.size() == 2 ? 10 : 100;
    for (const Unit& unit : units) {
        if (unit.name == text.substr(digits)) {
            const std::uint64_t tick = count * unit.femtoseconds;
            return tick >= one_ns ? VcdTimescale{tick / one_ns, 1} : VcdTimescale{1, one_ns / tick};
        }
    }
    return std::nullopt;
}

class HeaderReader {
public:
    HeaderReader(VcdTokens& tokens, Problems& problems) : tokens_(tokens), problems_(problems) {}

    VcdHeader read();

private:
    using Words = std::vector<std::string_view>;

    void take(const VcdToken& keyword);
    void unexpected(const VcdToken& token);
    Words words_to_end(const VcdToken& keyword);
    void read_timescale(const VcdToken& keyword);
    void read_scope(const VcdToken& keyword);
    void leave_scope(const VcdToken& keyword);
    void read_var(const VcdToken& keyword);
    void add_signal(const VcdToken& keyword, const Words& words, std::uint64_t size);
    bool name_fits(const VcdToken& keyword, std::size_t size);
    void stop(std::size_t at, bool complete);

    VcdTokens& tokens_;
    Problems& problems_;
    VcdHeader header_;
    std::string path_;                 ///< of the open scopes, each with its dot
    std::vector<std::size_t> scopes_;  ///< the path's size before each
    bool stopped_ = false;
    bool told_of_stranger_ = false;
};

VcdHeader HeaderReader::read() {
    while (!stopped_) {
        const VcdToken token = tokens_.next();
        if (token.text.empty()) {
            problems_.error(token.at, "the file ends before \"$enddefinitions $end\"");
            stop(token.at, false);
        } else if (declares(token.text)) {
            take(token);
        } else {
            unexpected(token);
        }
        if (problems_.full()) {
            stop(token.at, false);
        }
    }
    return std::move(header_);
}

void HeaderReader::take(const VcdToken& keyword) {
    const std::string_view word = keyword.text;
    if (word == "$var") {
        read_var(keyword);
    } else if (word == "$scope") {
        read_scope(keyword);
    } else if (word == "$upscope") {
        leave_scope(keyword);
    } else if (word == "$timescale") {
        read_timescale(keyword);
    } else if (word == "$enddefinitions") {
        words_to_end(keyword);
        stop(keyword.at, true);
    } else {
        skip_vcd_section(tokens_, keyword, problems_);
    }
}

void HeaderReader::unexpected(const VcdToken& token) {
    if (begins_changes(token.text)) {
        problems_.error(token.at, "\"$enddefinitions $end\" is missing before the value changes");
        tokens_.back_to(token);
        stop(token.at, true);
    } else if (token.text.starts_with('$') && token.text != "$end") {
        if (!told_of_stranger_) {
            told_of_stranger_ = true;
            problems_.warning(token.at,
                              in_quotes(token.text) +
                                  " is not a keyword of IEEE 1364; passed over up to its $end");
        }
        skip_vcd_section(tokens_, token, problems_);
    } else {
        problems_.error(token.at,
                        "expected a declaration ($timescale, $scope, $var, $upscope, "
                        "$enddefinitions, $comment), not " +
                            in_quotes(token.text));
        // What follows a lost keyword is not a declaration either: told once.
        VcdToken next = tokens_.next();
        while (!next.text.empty() && !next.text.starts_with('$') && !begins_changes(next.text)) {
            next = tokens_.next();
        }
        if (next.text != "$end") {
            tokens_.back_to(next);
        }
    }
}

/// Those between the keyword and its $end. Where the $end is missing the next declaration ends it.
HeaderReader::Words HeaderReader::words_to_end(const VcdToken& keyword) {
    Words words;
    words.reserve(8);
    for (;;) {
        const VcdToken token = tokens_.next();
        if (token.text == "$end") {
            return words;
        }
        const bool may_be_id = words.size() == 2;  // "#5" is an id code as well as a time
        if (token.text.empty() || declares(token.text) ||
            (begins_changes(token.text) && !may_be_id)) {
            problems_.error(keyword.at, std::string(keyword.text) + " has no $end");
            tokens_.back_to(token);
            return words;
        }
        if (words.size() < most_words) {
            words.push_back(token.text);
        }
    }
}

void HeaderReader::read_timescale(const VcdToken& keyword) {
    const Words words = words_to_end(keyword);
    std::string text;
    for (const std::string_view word : words) {
        text += word.substr(0, 8);
    }
    const auto timescale = timescale_of(text);
    if (!timescale) {
        problems_.error(keyword.at,
                        "the timescale is 1, 10 or 100 of s, ms, us, ns, ps or fs, not " +
                            in_quotes(text));
    } else if (header_.timescale) {
        problems_.error(keyword.at, "the timescale is there already");
    }
    // One that cannot be read was told of: it is not missing.
    header_.timescale = timescale.value_or(VcdTimescale{});
}

void HeaderReader::read_scope(const VcdToken& keyword) {
    const Words words = words_to_end(keyword);
    if (words.size() != 2) {
        problems_.error(keyword.at,
                        "expected a scope, \"$scope TYPE NAME $end\", such as \"module top\"");
    }
    const std::string_view name = words.empty() ? std::string_view() : words.back();
    if (!name_fits(keyword, path_.size() + name.size() + 1)) {
        return;
    }
    scopes_.push_back(path_.size());
    path_ += name;
    path_ += '.';
}

void HeaderReader::leave_scope(const VcdToken& keyword) {
    words_to_end(keyword);
    if (scopes_.empty()) {
        problems_.error(keyword.at, "$upscope leaves a scope, and none is open");
        return;
    }
    path_.resize(scopes_.back());
    scopes_.pop_back();
}

void HeaderReader::read_var(const VcdToken& keyword) {
    const Words words = words_to_end(keyword);
    if (words.size() < 4) {
        problems_.error(keyword.at,
                        "expected a signal, \"$var TYPE SIZE ID NAME $end\", such as "
                        "\"wire 1 ! button\"");
        return;
    }
    std::uint64_t size = 0;
    const char* const end = words[1].data() + words[1].size();
    const auto [last, failure] = std::from_chars(words[1].data(), end, size);
    if (failure != std::errc{} || last != end) {
        problems_.error(keyword.at, "the size is a number of bits, not " + in_quotes(words[1]));
    } else if (!is_id(words[2])) {
        problems_.error(keyword.at,
                        "an id code has printable ASCII characters only, not " +
                            in_quotes(words[2]));
    } else {
        add_signal(keyword, words, size);
    }
}

/// A bit or range stands apart from its name or not: "bus [0]" and "bus[0]" are the same. Some
/// analysers let names have blanks.
void HeaderReader::add_signal(const VcdToken& keyword, const Words& words, std::uint64_t size) {
    VcdSignal signal{path_, 0, words[0], size, words[2], keyword.at};
    for (std::size_t i = 3; i < words.size() && signal.name.size() <= longest_name; ++i) {
        const bool bit = i > 3 && words[i].starts_with('[');
        signal.name += i == 3 || bit ? "" : " ";
        signal.name += words[i].substr(0, longest_name + 1);
    }
    const std::size_t bracket = signal.name.find('[', path_.size() + 1);
    signal.bare_size =
        signal.name.ends_with(']') ? std::min(bracket, signal.name.size()) : signal.name.size();
    if (!name_fits(keyword, signal.name.size())) {
        return;
    }
    if (header_.signals.size() == most_signals) {
        problems_.error(keyword.at, "more than 100,000 signals: export only the button's");
        stop(keyword.at, false);
        return;
    }
    header_.signals.push_back(std::move(signal));
}

bool HeaderReader::name_fits(const VcdToken& keyword, std::size_t size) {
    if (size > longest_name) {
        problems_.error(keyword.at,
                        "a signal's name with its scopes has more than 1,000 characters");
        stop(keyword.at, false);
    }
    return size <= longest_name;
}

void HeaderReader::stop(std::size_t at, bool complete) {
    if (!stopped_) {
        header_.end = at;
        header_.complete = complete;
        stopped_ = true;
    }
}

}  // namespace

bool declares_signals(std::string_view text) noexcept {
    return first_word_that(text, declares).has_value();
}

std::size_t begin_of_vcd(std::string_view text) noexcept {
    return first_word_that(text, [](std::string_view word) { return word.starts_with('$'); })
        .value_or(0);
}

VcdHeader read_vcd_header(VcdTokens& tokens, Problems& problems) {
    return HeaderReader(tokens, problems).read();
}

void skip_vcd_section(VcdTokens& tokens, const VcdToken& keyword, Problems& problems) {
    for (VcdToken token = tokens.next(); token.text != "$end"; token = tokens.next()) {
        if (token.text.empty()) {
            problems.error(keyword.at, in_quotes(keyword.text) + " has no $end");
            return;
        }
    }
}

}  // namespace nightlatch::wave
