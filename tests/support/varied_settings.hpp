// SPDX-License-Identifier: MIT
#pragma once

#include "config/keys.hpp"

#include <functional>
#include <string>

namespace nightlatch::test {

/// Settings in which every key of the format is stated: two feedbacks, an LED and a line, and a
/// [circuit].
config::Settings whole_settings();

/// One key with another value than it has in whole_settings().
struct Varied {
    const config::KnownSection& section;
    const config::Key& key;
    std::size_t at;          ///< of the sections of that name
    config::KeyValue value;  ///< one that contradicts no other key
    config::Settings settings;
};

/// Calls `look` with every other word of every key that takes one, and with one other value of
/// every other key. Each key comes at least once, or the test fails.
void for_each_varied(const std::function<void(const Varied&)>& look);

}  // namespace nightlatch::test
