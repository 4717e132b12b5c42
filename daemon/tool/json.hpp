// SPDX-License-Identifier: MIT
#pragma once

#include "base/ensure.hpp"
#include "base/time.hpp"

#include <concepts>
#include <cstdint>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace nightlatch::tool {

template <class T>
concept WholeNumber = std::integral<T> && !std::same_as<T, bool>;

// A value holds values, so what copies and destroys it calls itself, as deep as our answers are.
// NOLINTBEGIN(misc-no-recursion)

/// A value of JSON [RFC 8259]: what the commands answer programs with. An object is written from
/// its members in braces, {{"chip", name}, {"line", 17}}, and keeps their order; every other value
/// comes from what it is in C++, a list also from a std::vector, null from an empty std::optional.
class Json {
public:
    struct Member;
    using Array = std::vector<Json>;
    using Object = std::vector<Member>;
    using Value =
        std::variant<std::nullptr_t, bool, std::int64_t, double, std::string, Array, Object>;

    // What a value is made of is converted without being asked: a list of members would be nothing
    // but casts. NOLINTBEGIN(google-explicit-constructor)
    Json(std::nullptr_t = nullptr);

    template <std::same_as<bool> T>
    Json(T value);  // not what only converts to bool, as any pointer does

    template <WholeNumber T>
    Json(T value);

    /// JSON has no infinity: what is not finite is null.
    Json(double value);

    Json(std::string text);
    Json(std::string_view text);
    Json(const char* text);

    Json(std::initializer_list<Member> members);

    template <class T>
    Json(const std::vector<T>& all);

    template <class T>
    Json(const std::optional<T>& one);

    // NOLINTEND(google-explicit-constructor)

    static Json array();
    static Json object();

    /// Of an array.
    void push_back(Json value);

    /// Of an object: the member of that name, null where it is new.
    Json& operator[](std::string_view name);

    [[nodiscard]] const Value& value() const noexcept { return value_; }

private:
    Value value_;
};

struct Json::Member {
    std::string name;
    Json value;
};

// NOLINTEND(misc-no-recursion)

// Only here is a member a whole type, which the variant asks for.

template <std::same_as<bool> T>
Json::Json(T value) : value_(value) {}

template <WholeNumber T>
Json::Json(T value) : value_(static_cast<std::int64_t>(value)) {
    NIGHTLATCH_ENSURE(std::in_range<std::int64_t>(value));
}

template <class T>
Json::Json(const std::vector<T>& all) : value_(Array(all.begin(), all.end())) {}

template <class T>
Json::Json(const std::optional<T>& one) : Json(one ? Json(*one) : Json()) {}

/// Whole microseconds, rounded down: the one form of a time in what programs read, in members whose
/// names end in _us.
std::int64_t microseconds(Duration duration);

/// The same of seconds; null for "never" and "for ever", which are infinite.
Json microseconds_of(double seconds);

/// A command's whole answer: `format` and `version` first, then the members of `answer`, an object;
/// indented, ends with the line's end. Text that is not UTF-8 (a file's name may be any bytes) has
/// U+FFFD in its place. The version is raised when a member changes its meaning or goes.
std::string json_text(std::string_view format, int version, const Json& answer);

/// The same as one line, for a program that reads line by line.
std::string json_line(std::string_view format, int version, const Json& answer);

}  // namespace nightlatch::tool
