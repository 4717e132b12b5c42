// SPDX-License-Identifier: MIT
#include "config/reader.hpp"

#include "base/duration_text.hpp"
#include "base/nearest.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::config {
namespace {

constexpr std::string_view is_missing = "is missing";

}  // namespace

bool is_bare_key(std::string_view key) noexcept {
    return !key.empty() && std::all_of(key.begin(), key.end(), [](char c) {
        return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
               c == '_' || c == '-';
    });
}

std::string full_key(const Section& section, std::string_view key) {
    const bool bare = key.size() <= 40 && is_bare_key(key);
    const std::string shown = bare ? std::string(key) : in_quotes(key);
    return section.name.empty() ? shown : section.name + "." + shown;
}

std::string allowed_text(std::string_view typed, std::span<const std::string_view> allowed) {
    std::string text = " (";
    for (const std::string_view word : allowed) {
        text += std::string(text.size() > 2 ? ", " : "") + std::string(word);
    }
    if (const auto near = nearest(typed, allowed)) {
        text += "; did you mean " + in_quotes(*near) + "?";
    }
    return text + ")";
}

std::optional<std::string> why_no_name(std::string_view text, std::size_t most) {
    if (text.empty()) {
        return "is empty";
    }
    if (has_controls(text)) {
        return "has control characters in it: " + in_quotes(text);
    }
    if (text.size() > most) {
        return in_quotes(text) + " is " + std::to_string(text.size()) + " bytes long; at most " +
               std::to_string(most) + " are allowed";
    }
    return std::nullopt;
}

void Reader::say(Severity severity, Place place, std::string key, std::string text) {
    said_.push_back({severity, place, std::move(key), std::move(text)});
}

void Reader::error(Place place, std::string key, std::string text) {
    say(Severity::error, place, std::move(key), std::move(text));
}

void Reader::warning(Place place, std::string key, std::string text) {
    say(Severity::warning, place, std::move(key), std::move(text));
}

void Reader::note(Place place, std::string key, std::string text) {
    say(Severity::note, place, std::move(key), std::move(text));
}

const Entry* Reader::missing(const Section& section,
                             std::string_view key,
                             std::string_view remedy) {
    error(section.place, full_key(section, key), std::string(is_missing) + std::string(remedy));
    return nullptr;
}

void Reader::mistyped(const Section& section,
                      std::string_view typed,
                      std::span<const std::string_view> keys) {
    if (const auto near = nearest(typed, keys)) {
        mistyped_.emplace_back(section.place, full_key(section, *near));
    }
}

void Reader::only(const Section& section, std::span<const std::string_view> keys) {
    for (const Entry& entry : *section.table) {
        if (std::find(keys.begin(), keys.end(), entry.key) == keys.end()) {
            error(entry.place,
                  full_key(section, entry.key),
                  "unknown key" + allowed_text(entry.key, keys));
            mistyped(section, entry.key, keys);
        }
    }
}

const std::string* Reader::text_in(const Value& value,
                                   const std::string& key,
                                   std::string_view want) {
    const auto* text = std::get_if<std::string>(&value.data);
    if (text == nullptr) {
        error(value.place,
              key,
              "is " + std::string(kind_of(value)) + "; expected " + std::string(want));
    }
    return text;
}

std::optional<Placed<std::string>> Reader::text(const Section& section,
                                                std::string_view key,
                                                std::size_t most) {
    const Entry* entry = find(*section.table, key);
    if (entry == nullptr) {
        missing(section, key, "; it must be given");
        return std::nullopt;
    }
    auto text = name_in(entry->value, full_key(section, key), most);
    return text ? std::optional(Placed<std::string>{std::move(*text), entry->value.place})
                : std::nullopt;
}

std::optional<std::string> Reader::name_in(const Value& value,
                                           const std::string& key,
                                           std::size_t most) {
    const std::string* text = text_in(value, key, "a text in double quotes");
    if (text == nullptr) {
        return std::nullopt;
    }
    if (const auto why = why_no_name(*text, most)) {
        error(value.place, key, *why);
        return std::nullopt;
    }
    return *text;
}

std::optional<Placed<Duration>> Reader::duration_in(const Value& value,
                                                    const std::string& key,
                                                    const DurationRange& range) {
    const std::string* text =
        text_in(value, key, R"(a number with a unit, in double quotes: "30 ms", "1.5 s", "2 min")");
    if (text == nullptr) {
        return std::nullopt;
    }
    const auto duration = parse_duration(*text);
    if (!duration) {
        // The reason may repeat the text, which may be long.
        error(value.place,
              key,
              in_quotes(*text) + " is not a duration: " + shortened(duration.error()));
        return std::nullopt;
    }
    if (*duration < range.least || *duration > range.most) {
        error(value.place, key, in_quotes(*text) + " is out of range; allowed: " + to_text(range));
        return std::nullopt;
    }
    return Placed<Duration>{*duration, value.place};
}

std::optional<Placed<Duration>> Reader::duration(const Section& section,
                                                 std::string_view key,
                                                 const DurationRange& range,
                                                 std::optional<Duration> otherwise) {
    if (const Entry* entry = find(*section.table, key)) {
        return duration_in(entry->value, full_key(section, key), range);
    }
    if (otherwise) {
        return Placed<Duration>{*otherwise, section.place};
    }
    missing(section, key, "; allowed: " + to_text(range));
    return std::nullopt;
}

std::optional<std::size_t> Reader::word_in(const Value& value,
                                           const std::string& key,
                                           std::span<const std::string_view> words) {
    const std::string* text =
        text_in(value, key, "a word in double quotes" + allowed_text("", words));
    if (text == nullptr) {
        return std::nullopt;
    }
    const auto word = std::find(words.begin(), words.end(), *text);
    if (word == words.end()) {
        error(value.place, key, in_quotes(*text) + " is not allowed" + allowed_text(*text, words));
        return std::nullopt;
    }
    return static_cast<std::size_t>(word - words.begin());
}

Diagnostics Reader::take() {
    // What is missing because its key was mistyped is told there.
    std::erase_if(said_, [this](const Diagnostic& one) {
        return one.text.starts_with(is_missing) &&
               std::find(mistyped_.begin(), mistyped_.end(), std::pair(one.place, one.key)) !=
                   mistyped_.end();
    });
    std::stable_sort(said_.begin(), said_.end(), [](const Diagnostic& a, const Diagnostic& b) {
        return a.place < b.place;
    });
    return std::move(said_);
}

}  // namespace nightlatch::config
