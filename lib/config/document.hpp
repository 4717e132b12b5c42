// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "config/diagnostic.hpp"

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace nightlatch::config {

/// What TOML can say and no key of ours takes: a float, a date, a time.
struct OtherValue {
    std::string_view kind;  ///< for the sentence, e.g. "a date"
};

struct Value;
struct Entry;
using Array = std::vector<Value>;
using Table = std::vector<Entry>;  ///< in the order of the text

/// A TOML value with its place.
struct Value {
    std::variant<std::string, std::int64_t, bool, OtherValue, Array, Table> data;
    Place place;  ///< of a table written with a header: the header's
};

struct Entry {
    std::string key;
    Place place;  ///< of the key
    Value value;
};

/// A whole text. The one file behind this knows the TOML library; nothing else does.
struct Document {
    Table root;
};

/// Any bytes are safe. The first syntax error ends it: what follows it cannot be told.
Result<Document, Diagnostic> parse_document(std::string_view text);

/// The entry of that key, or nullptr.
const Entry* find(const Table& table, std::string_view key) noexcept;

/// "a text", "a number", "a table" …: what the value is, for a sentence.
std::string_view kind_of(const Value& value);

}  // namespace nightlatch::config
