// SPDX-License-Identifier: MIT
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

/// The members of a JSON object [RFC 8259], as far as a record has them: texts, whole numbers, yes
/// or no, and lists of objects that have no lists in turn.
namespace nightlatch::logbook {

using Value = std::variant<std::string, std::int64_t, bool>;
using Members = std::vector<std::pair<std::string, Value>>;

struct Object {
    Members members;
    std::vector<std::pair<std::string, std::vector<Members>>> lists;
};

/// "" and nothing when it is not there, or of another kind; of a name that stands twice the first.
std::string text_in(const Members& members, std::string_view name);
std::optional<std::int64_t> integer_in(const Members& members, std::string_view name);
bool flag_in(const Members& members, std::string_view name);
const std::vector<Members>& list_in(const Object& object, std::string_view name);

/// `"name":value,"name":[{…},{…}]`, without the braces around them. A byte that is no part of a
/// character becomes U+FFFD.
std::string to_text(const Object& object);

/// Reads what to_text writes, and blanks between; nothing for anything else.
std::optional<Object> read_members(std::string_view text);

}  // namespace nightlatch::logbook
