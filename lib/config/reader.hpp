// SPDX-License-Identifier: MIT
#pragma once

#include "base/duration_text.hpp"
#include "config/document.hpp"
#include "config/words.hpp"

#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace nightlatch::config {

/// A value with the place where it stands (of a default: the table's).
template <class T>
struct Placed {
    T value{};
    Place place;
};

/// A table under a name, for the keys' full names in diagnostics.
struct Section {
    std::string name;  ///< "button"; "stage"
    const Table* table = nullptr;
    Place place;
};

/// A key that TOML takes without quotes.
bool is_bare_key(std::string_view key) noexcept;

std::string full_key(const Section& section, std::string_view key);

/// " (low, high; did you mean "low"?)": what is allowed and, where there is one, the nearest.
std::string allowed_text(std::string_view typed, std::span<const std::string_view> allowed);

/// Collects what is wrong and reads single keys. Every reading function gives nothing after it has
/// said why, so that what depends on the value can be left out rather than reported in its wake.
class Reader {
public:
    void error(Place place, std::string key, std::string text);
    void warning(Place place, std::string key, std::string text);
    void note(Place place, std::string key, std::string text);

    /// Not empty, no control characters, at most `most` bytes.
    std::optional<Placed<std::string>> text(const Section& section,
                                            std::string_view key,
                                            std::size_t most);

    /// The same for a value that is already at hand; `key` is the full one.
    std::optional<std::string> name_in(const Value& value,
                                       const std::string& key,
                                       std::size_t most);

    /// Left out: the default, or where there is none, an error.
    std::optional<Placed<Duration>> duration(const Section& section,
                                             std::string_view key,
                                             const DurationRange& range,
                                             std::optional<Duration> otherwise);

    /// A duration in a value that is already at hand; `key` is the full one.
    std::optional<Placed<Duration>> duration_in(const Value& value,
                                                const std::string& key,
                                                const DurationRange& range);

    /// One of the words. Left out: the default, or where there is none, an error.
    template <class T, std::size_t Size>
    std::optional<Placed<T>> word(const Section& section,
                                  std::string_view key,
                                  const std::array<Word<T>, Size>& words,
                                  std::optional<T> otherwise) {
        const Entry* entry = find(*section.table, key);
        if (entry == nullptr && otherwise) {
            return Placed<T>{*otherwise, section.place};
        }
        std::array<std::string_view, Size> texts;
        for (std::size_t i = 0; i < Size; ++i) {
            texts[i] = words[i].text;
        }
        if (entry == nullptr) {
            missing(section, key, allowed_text("", texts));
            return std::nullopt;
        }
        const auto index = word_in(entry->value, full_key(section, key), texts);
        return index ? std::optional(Placed<T>{words[*index].value, entry->value.place})
                     : std::nullopt;
    }

    /// The same for a value that is already at hand, as the index of the word.
    std::optional<std::size_t> word_in(const Value& value,
                                       const std::string& key,
                                       std::span<const std::string_view> words);

    /// Of a key that is none of these: that the nearest is missing is then its consequence, and not
    /// told beside it.
    void mistyped(const Section& section,
                  std::string_view typed,
                  std::span<const std::string_view> keys);

    /// Says of every key that is none of these so, with the nearest.
    void only(const Section& section, std::span<const std::string_view> keys);

    /// The text of a value, or an error that says what it is instead.
    const std::string* text_in(const Value& value, const std::string& key, std::string_view want);

    /// Says that a required key is missing; always nullptr.
    const Entry* missing(const Section& section, std::string_view key, std::string_view remedy);

    /// Everything said, by place.
    Diagnostics take();

private:
    void say(Severity severity, Place place, std::string key, std::string text);

    Diagnostics said_;
    std::vector<std::pair<Place, std::string>> mistyped_;  ///< the keys that were meant
};

/// Not empty, no control characters, at most `most` bytes: otherwise the sentence that says so.
std::optional<std::string> why_no_name(std::string_view text, std::size_t most);

}  // namespace nightlatch::config
