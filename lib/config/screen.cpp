// SPDX-License-Identifier: MIT
#include "config/screen.hpp"

#include "base/text.hpp"

#include <utility>

namespace nightlatch::config {
namespace {

constexpr unsigned most_points = 8;

bool is_digit_or_sign(char c) {
    return (c >= '0' && c <= '9') || c == '+' || c == '-';
}

bool is_word(char c) {
    return is_digit_or_sign(c) || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}

bool beyond_ascii(char c) {
    return static_cast<unsigned char>(c) >= 0x80;
}

/// Walks over a text as far as the questions need: it knows comments and the four kinds of quotes
/// [https://toml.io/en/v1.0.0#string] and nothing else. After a syntax error it may lose its way;
/// the library stops there, so it does not matter.
class Walk {
public:
    explicit Walk(std::string_view text) : text_(text) {
        if (text_.starts_with("\xEF\xBB\xBF")) {
            at_ = 3;  // a byte order mark, as some editors put it; the library skips it too
        }
    }

    std::optional<Screened> run() {
        while (!refused_ && at_ < text_.size()) {
            const char c = text_[at_];
            if (c == '#') {
                skip_comment();
            } else if (c == '"' || c == '\'') {
                skip_quoted(c);
            } else {
                look_at(c);
                step();
            }
        }
        return std::move(refused_);
    }

private:
    [[nodiscard]] bool sees(std::string_view what) const {
        return text_.substr(at_).starts_with(what);
    }

    void look_at(char c) {
        if (beyond_ascii(c)) {
            const std::string_view rest = text_.substr(at_);
            refuse("the character " + in_quotes(rest.substr(0, first_character(rest).length)) +
                   " stands outside quotes, where only plain ASCII may (a special quote or blank "
                   "from a web page?); text goes in straight double quotes");
        } else if (c == '.' && ++points_ > most_points) {
            refuse("more than 8 points in one line outside quotes");
        } else if (is_digit_or_sign(c) && (at_ == 0 || !is_word(text_[at_ - 1])) &&
                   runs_into_quote()) {
            refuse("a quote in the middle of a number");
        }
    }

    /// Does a quote come before the number that begins here is over?
    [[nodiscard]] bool runs_into_quote() const {
        const std::size_t end = text_.find_first_of(" \t\r\n],}#\"'", at_);
        return end != std::string_view::npos && (text_[end] == '"' || text_[end] == '\'');
    }

    void step() {
        const auto c = static_cast<unsigned char>(text_[at_++]);
        if (c == '\n') {
            ++place_.line;
            place_.column = 1;
            line_start_ = at_;
            points_ = 0;
        } else if ((c & 0xC0U) != 0x80U) {
            ++place_.column;  // counts characters: not the further bytes of one
        }
    }

    void skip_comment() {
        while (at_ < text_.size() && text_[at_] != '\n') {
            step();
        }
    }

    void skip_quoted(char quote) {
        const std::string_view three = quote == '"' ? R"(""")" : "'''";
        if (sees(three)) {
            skip_lines(three);
            return;
        }
        step();
        while (at_ < text_.size() && text_[at_] != quote && text_[at_] != '\n') {
            step_over_escape(quote);
        }
        if (at_ < text_.size()) {
            step();
        }
    }

    /// A text over several lines ends at three quotes; one or two more directly before them are its
    /// own, so up to five in a row belong to it.
    void skip_lines(std::string_view three) {
        for (int i = 0; i < 3; ++i) {
            step();
        }
        while (at_ < text_.size() && !sees(three)) {
            if (beyond_ascii(text_[at_])) {
                refuse("a text over several lines may have plain ASCII characters only");
                return;
            }
            step_over_escape(three.front());
        }
        for (int i = 0; i < 5 && at_ < text_.size() && text_[at_] == three.front(); ++i) {
            step();
        }
    }

    void step_over_escape(char quote) {
        const bool escape = quote == '"' && text_[at_] == '\\';
        step();
        if (escape && at_ < text_.size() && !beyond_ascii(text_[at_])) {
            step();
        }
    }

    void refuse(std::string text) {
        refused_ = {{Severity::error, place_, "syntax", std::move(text)}, line_start_};
    }

    std::string_view text_;
    std::size_t at_ = 0;
    std::size_t line_start_ = 0;
    Place place_;
    unsigned points_ = 0;
    std::optional<Screened> refused_;
};

}  // namespace

std::optional<Screened> screen(std::string_view text) {
    return Walk(text).run();
}

}  // namespace nightlatch::config
