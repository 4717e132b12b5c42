// SPDX-License-Identifier: MIT
#pragma once

#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "config/keys.hpp"
#include "config/reader.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::config {

/// What was read of a configuration and where it stands, before the rules that look at several
/// values at once.
struct Draft {
    struct ReadKey {
        const Key* key;
        std::size_t at;
        Place place;
    };

    struct ReadSection {
        std::string_view name;
        std::vector<Place> places;
    };

    Settings settings;                  ///< stages in the order of the text
    std::vector<ReadKey> keys;          ///< those with a value: a read one or the default
    std::vector<ReadSection> sections;  ///< those of which at least the headers could be read

    /// Where the key's value stands (of a default: its section); nothing when it was wrong or is
    /// not stated, and a rule about it is then left out.
    [[nodiscard]] std::optional<Place> place(const Key& key, std::size_t at = 0) const;
    [[nodiscard]] std::optional<Place> place(std::string_view full_name, std::size_t at = 0) const;

    /// Where the sections of that name stand; nullptr when they could not be read.
    [[nodiscard]] const std::vector<Place>* places(std::string_view section) const;
};

/// The rules that look at more than one value.
void check_contradictions(const Draft& draft, Reader& reader);

/// Those of them that are about alarms (alarm_rules.cpp).
void check_alarms(const Draft& draft, Reader& reader);

/// What works and may be hard on the person at the button (Loaded::advice).
void advise(const Draft& draft, Reader& reader);

// For their sentences.

inline std::string line_number(Place place) {
    return "line " + std::to_string(place.line);
}

inline std::string shown(Duration duration) {
    return in_quotes(nightlatch::to_text(duration));
}

}  // namespace nightlatch::config
