// SPDX-License-Identifier: MIT
#include "wave/problems.hpp"

#include "base/ensure.hpp"
#include "base/nearest.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::wave {
namespace {

/// All of a sentence but what it quotes and its numbers.
std::string kind_of(std::string_view sentence) {
    std::string kind;
    bool quoted = false;
    for (const char c : sentence) {
        quoted = quoted != (c == '"');
        if (!quoted && !is_digit(c)) {
            kind += c;
        }
    }
    return kind;
}

constexpr std::size_t most_names = 8;
constexpr std::size_t most_looked_at = 1'000;

bool is_plain_word(std::string_view text) {
    constexpr std::string_view signs = "._+:/";
    constexpr std::size_t longest = 60;
    return !text.empty() && text.size() <= longest &&
           std::all_of(text.begin(), text.end(), [&](char c) {
               return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || is_digit(c) ||
                      signs.find(c) != std::string_view::npos;
           });
}

}  // namespace

void Problems::add(Found found) {
    NIGHTLATCH_ENSURE(found.offset <= text_.size());
    found.kind = kind_of(found.text);
    const auto same = std::find_if(found_.begin(), found_.end(), [&](const Found& one) {
        return one.error == found.error && one.kind == found.kind;
    });
    if (same != found_.end()) {
        ++same->more;
    } else if (found_.size() < most) {
        found_.push_back(std::move(found));
    }
}

std::string Problems::told(Found found) const {
    if (found.more > 0) {
        found.text += errors_ < most_counted ? " (and " : " (and at least ";
        found.text += counted(found.more) + " more like it)";
    }
    return std::move(found.text);
}

void Problems::error(std::size_t offset, std::string sentence) {
    ++errors_;
    add({offset, true, std::move(sentence)});
}

void Problems::warning(std::size_t offset, std::string sentence) {
    const auto warnings =
        std::count_if(found_.begin(), found_.end(), [](const Found& one) { return !one.error; });
    if (static_cast<std::size_t>(warnings) < most_warnings) {
        add({offset, false, std::move(sentence)});
    }
}

std::vector<Problem> Problems::listed() const {
    std::vector<Found> found = found_;
    std::stable_sort(found.begin(), found.end(), [](const Found& one, const Found& other) {
        return one.offset < other.offset;
    });
    std::vector<Problem> problems;
    problems.reserve(found.size());
    std::size_t line_start = 0;
    unsigned line = 1;
    for (Found& one : found) {
        std::size_t end = text_.find('\n', line_start);
        while (end < one.offset) {  // npos is never less
            line_start = end + 1;
            ++line;
            end = text_.find('\n', line_start);
        }
        const auto column = static_cast<unsigned>(one.offset - line_start + 1);
        problems.push_back({one.error, line, column, told(std::move(one))});
    }
    return problems;
}

std::string names_listed(std::span<const std::string_view> names) {
    const std::size_t shown = std::min(names.size(), most_names);
    std::string list;
    for (std::size_t i = 0; i < shown; ++i) {
        const bool last = i > 0 && i + 1 == names.size();
        list += i == 0 ? "" : last ? " and " : ", ";
        list += in_quotes(names[i]);
    }
    if (names.size() > shown) {
        list += " and " + std::to_string(names.size() - shown) + " more";
    }
    return list;
}

std::string signal_choice(std::span<const std::string_view> names) {
    const std::span<const std::string_view> listed =
        names.first(std::min(names.size(), most_names));
    const auto plain = std::find_if(listed.begin(), listed.end(), is_plain_word);
    const std::string example(plain == listed.end() ? "NAME" : *plain);
    return "say which is the button's, as in --signal " + example + ": there are " +
           names_listed(names);
}

std::string nearest_hint(std::string_view typed, std::span<const std::string_view> names) {
    const auto near = nearest(typed, names.first(std::min(names.size(), most_looked_at)));
    return near ? " (did you mean " + in_quotes(*near) + "?)" : "";
}

}  // namespace nightlatch::wave
