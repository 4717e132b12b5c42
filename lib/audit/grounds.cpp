// SPDX-License-Identifier: MIT
#include "audit/grounds.hpp"

#include "base/text.hpp"
#include "core/verdict_word.hpp"

#include <array>
#include <cinttypes>
#include <cstdio>

namespace nightlatch::audit {
namespace {

constexpr std::string_view format = "nightlatch-audit-facts 1";
constexpr std::string_view unseen = "?";

/// A key is ours to write: small letters, digits, points and hyphens.
bool is_key(std::string_view text) {
    return !text.empty() && text.size() <= 60 &&
           text.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789.-") ==
               std::string_view::npos;
}

/// FNV-1a of 64 bits [draft-eastlake-fnv]: so that a change in what was cut away shows.
std::string sum_of(std::string_view text) {
    std::uint64_t sum = 0xcbf29ce484222325U;
    for (const char c : text) {
        sum = (sum ^ static_cast<unsigned char>(c)) * 0x100000001b3U;
    }
    std::array<char, 17> digits{};
    std::snprintf(digits.data(), digits.size(), "%016" PRIx64, sum);
    return digits.data();
}

/// One line; never what stands for "not seen".
Known<std::string> written(Known<std::string> fact) {
    if (!fact) {
        return fact;
    }
    std::string text = safe(trimmed(*fact));
    if (text.size() > most_grounds_value) {
        return shortened(text, most_grounds_value - 20) + sum_of(text);
    }
    return text == unseen ? in_quotes(unseen) : std::move(text);
}

struct Line {
    std::string_view key;
    std::string_view value;
};

std::string at(std::size_t number, std::string_view what) {
    return std::to_string(number) + ": " + std::string(what);
}

Result<Line, std::string> line_of(std::string_view text, std::size_t number) {
    const std::size_t equals = text.find('=');
    if (equals == std::string_view::npos) {
        return Unexpected{at(number, "no \"key = value\": " + in_quotes(text))};
    }
    const Line line{trimmed(text.substr(0, equals)), trimmed(text.substr(equals + 1))};
    if (!is_key(line.key)) {
        return Unexpected{at(number, in_quotes(line.key) + " is not a key")};
    }
    if (!is_safe(line.value) || line.value.size() > most_grounds_value) {
        return Unexpected{
            at(number,
               "the value of " + std::string(line.key) + " is none that `audit --save` writes")};
    }
    return line;
}

Result<Grounds, std::string> take(Grounds grounds, const Line& line, std::size_t number) {
    const auto fact = line.value == unseen
                          ? Known<std::string>::missing("it could not be seen then")
                          : Known<std::string>(std::string(line.value));
    if (!grounds.facts.emplace(line.key, fact).second) {
        return Unexpected{at(number, std::string(line.key) + " is given twice")};
    }
    return grounds;
}

/// Of the first line nothing is repeated: it may be anybody's file.
bool is_head(const Result<Line, std::string>& line) {
    return line && line->key == "format" && line->value == format;
}

Result<Grounds, std::string> with_line(Grounds grounds, std::string_view text, std::size_t number) {
    const auto line = line_of(text, number);
    if (number == 1 && !is_head(line)) {
        return Unexpected{at(number,
                             "this is not a file of `audit --save`, or of another version: "
                             "the first line is not " +
                                 in_quotes("format = " + std::string(format)))};
    }
    if (!line) {
        return Unexpected{line.error()};
    }
    return number == 1 ? std::move(grounds) : take(std::move(grounds), *line, number);
}

}  // namespace

Grounds grounds_of(const Scene& scene, core::Verdict verdict, std::string_view version) {
    Grounds grounds;
    for (const GroundsRow& row : grounds_rows()) {
        grounds.facts.emplace(row.key, written(row.value(scene)));
    }
    grounds.facts.emplace("verdict", std::string(core::word_of(verdict)));
    grounds.facts.emplace("version", std::string(version));
    return grounds;
}

std::string to_text(const Grounds& grounds) {
    std::string text = "format = " + std::string(format) + "\n";
    for (const auto& [key, value] : grounds.facts) {
        text += key + " = " + (value ? *value : std::string(unseen)) + "\n";
    }
    return text;
}

Result<Grounds, std::string> read_grounds(std::string_view text) {
    if (text.size() > most_grounds_bytes) {
        return Unexpected{at(1, "it is longer than any file of `audit --save`")};
    }
    Grounds grounds;
    std::size_t number = 0;
    while (!text.empty() || number == 0) {
        const std::size_t end = text.find('\n');
        auto more = with_line(std::move(grounds), text.substr(0, end), ++number);
        if (!more) {
            return more;
        }
        grounds = *std::move(more);
        text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
    }
    return grounds;
}

}  // namespace nightlatch::audit
