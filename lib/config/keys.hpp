// SPDX-License-Identifier: MIT
#pragma once

#include "base/duration_text.hpp"
#include "config/settings.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace nightlatch::config {

/// What a key takes, and with it how its value is read and written.
enum class Kind : unsigned char {
    chip,  ///< a chip's label, name or path
    line,  ///< a line's name, or its offset
    name,  ///< a text of at most `longest` bytes
    led,   ///< the name of an LED of the kernel's LED class
    path,  ///< the absolute path of a file, in a folder that is not /
    count,
    duration,
    word,  ///< one of `words`
    pattern,
};

/// What it means that a key is left out.
enum class Absent : unsigned char {
    wrong,     ///< it must be given
    standard,  ///< it has the value that it has in new settings
    unstated,  ///< nothing is said: it has no value, as its sentence explains
};

/// Where a key is read: everywhere, or only where its section names a line or an LED.
enum class GoesWith : unsigned char { anything, line, led };

/// Both ends are possible.
struct CountRange {
    std::size_t least = 0;
    std::size_t most = 0;
};

/// "1 to 10000".
std::string to_text(const CountRange& range);

/// A word stands as its text, a line's offset in digits.
using KeyValue = std::variant<std::string, std::size_t, Duration, core::Pattern>;

/// As it is written in a configuration, without quotes.
std::string text_of(const KeyValue& value);

/// Where a key's value is kept. `at` counts the sections of one name, from 0.
struct Member {
    /// Nothing when it is not stated, or when the section names another output.
    std::optional<KeyValue> (*get)(const Settings& settings, std::size_t at) = nullptr;
    /// `value` is of the key's kind; a word is one of the key's.
    void (*set)(Settings& settings, std::size_t at, const KeyValue& value) = nullptr;
};

/// Where a value for each stage is kept, by the stage's index; of the kind `pattern` only.
struct StageMember {
    /// Nothing when one value stands for all stages.
    std::optional<KeyValue> (*get)(const Settings& settings,
                                   std::size_t at,
                                   std::size_t stage) = nullptr;
    void (*set)(Settings& settings,
                std::size_t at,
                std::size_t stage,
                const KeyValue& value) = nullptr;
};

/// One key: whoever reads, checks, prints or documents the configuration takes it from here.
struct Key {
    std::string_view name;
    std::string_view part{};  ///< "press" of debounce, which may be a table; else empty
    Kind kind = Kind::name;
    Absent absent = Absent::standard;
    GoesWith goes_with = GoesWith::anything;
    std::size_t longest = 0;  ///< of chip, line, name, led and path, in bytes
    CountRange counts{};
    DurationRange range{};
    std::span<const std::string_view> words{};
    Member member{};
    StageMember by_stage{};       ///< of a key that may be a table by the stages' names; else empty
    std::string_view sentence{};  ///< as the manual has it: "The button's line"
};

/// A section of the format.
struct KnownSection {
    std::string_view name;      ///< "stage"
    std::string_view header;    ///< as it is written: "[[stage]]"
    std::span<const Key> keys;  ///< none of [circuit], whose keys are lib/circuit's to know
    std::string_view user;      ///< of its line or LED, in a sentence: "the button"
    std::size_t (*count)(const Settings& settings) = nullptr;  ///< how many the settings have
    void (*add)(Settings& settings) = nullptr;                 ///< one more, with its defaults

    [[nodiscard]] constexpr bool repeats() const noexcept { return header.starts_with("[["); }
};

/// In the order in which they are read, listed and printed.
std::span<const KnownSection> known_sections() noexcept;

/// The names of a section's keys: a key that may be a table once.
std::vector<std::string_view> key_names(const KnownSection& section);

/// "button.stuck_after", "button.debounce.press".
std::string full_name(const KnownSection& section, const Key& key);

/// The key of that full name, which must be one.
const Key& key_named(std::string_view full_name);

/// A key as it stands in settings.
struct ShownKey {
    std::string_view name;
    std::string_view part;  ///< or a stage's name, as long as the settings are there
    Kind kind;
    KeyValue value;
    bool by_stage = false;  ///< `part` is a stage's name, any text
};

/// What is stated in one section, [circuit] too.
std::vector<ShownKey> shown_keys(const KnownSection& section,
                                 const Settings& settings,
                                 std::size_t at);

}  // namespace nightlatch::config
