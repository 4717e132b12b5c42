// SPDX-License-Identifier: MIT
#pragma once

#include "config/keys.hpp"
#include "config/reader.hpp"

#include <optional>
#include <string>

namespace nightlatch::config {

/// The value of a key; nothing after it has been said what is wrong. `name` is the full one, for
/// the sentence.
std::optional<KeyValue> read_value(const Key& key,
                                   const Value& value,
                                   const std::string& name,
                                   Reader& reader);

/// "; allowed: 1 ms to 24 h": what could be given, where the key is missing.
std::string remedy_for_missing(const Key& key);

}  // namespace nightlatch::config
