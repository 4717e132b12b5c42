// SPDX-License-Identifier: MIT
#include "config/document.hpp"

#include "config/screen.hpp"
#include "config/syntax.hpp"

// The library's own build flags select a shared build that throws; these select neither. Its parser
// asserts, or in a release build lets the compiler assume, things that a malformed text makes
// untrue ("[&", "[1, }"), directly before code that reports them as errors
// [github.com/marzer/tomlplusplus, issue 294]: without the assertions that code is reached.
#undef NDEBUG
#define TOML_ASSERT(expression) static_cast<void>(0)
#define TOML_HEADER_ONLY 1
#define TOML_EXCEPTIONS 0
#define TOML_ENABLE_FORMATTERS 0
#define TOML_ENABLE_UNRELEASED_FEATURES 0

#include <algorithm>
#include <type_traits>
#include <utility>

#include <toml++/toml.h>

namespace nightlatch::config {
namespace {

Place place_of(const toml::source_region& region) {
    return {static_cast<unsigned>(region.begin.line), static_cast<unsigned>(region.begin.column)};
}

Value value_of(const toml::node& node);

// Bounded: the library refuses more than 256 values inside one another (TOML_MAX_NESTED_VALUES),
// and the screen long dotted keys, which the library does not count.
Table table_of(const toml::table& from) {  // NOLINT(misc-no-recursion)
    Table table;
    for (const auto& [key, node] : from) {
        table.push_back({std::string(key.str()), place_of(key.source()), value_of(node)});
    }
    std::stable_sort(table.begin(), table.end(), [](const Entry& a, const Entry& b) {
        return a.place < b.place;
    });
    return table;
}

Array array_of(const toml::array& from) {  // NOLINT(misc-no-recursion)
    Array array;
    for (const toml::node& node : from) {
        array.push_back(value_of(node));
    }
    return array;
}

Value value_of(const toml::node& node) {  // NOLINT(misc-no-recursion)
    const Place place = place_of(node.source());
    if (const toml::table* table = node.as_table()) {
        return {table_of(*table), place};
    }
    if (const toml::array* array = node.as_array()) {
        return {array_of(*array), place};
    }
    if (const auto* text = node.as_string()) {
        return {text->get(), place};
    }
    if (const auto* number = node.as_integer()) {
        return {number->get(), place};
    }
    if (const auto* truth = node.as_boolean()) {
        return {truth->get(), place};
    }
    return {OtherValue{node.is_floating_point() ? "a number with a point" : "a date or time"},
            place};
}

}  // namespace

Result<Document, Diagnostic> parse_document(std::string_view text) {
    if (auto wrong = why_not_text(text)) {
        return Unexpected{*std::move(wrong)};
    }
    const std::optional<Screened> odd = screen(text);
    // What the screen refuses must not reach the library, but a plain error before it comes first.
    const toml::parse_result parsed = toml::parse(odd ? text.substr(0, odd->line_start) : text);
    if (!parsed) {
        const toml::parse_error& error = parsed.error();
        const Place place = place_of(error.source());
        // What is only open where the text was cut is not an error.
        const bool cut = odd && error.description().find("end-of-file") != std::string_view::npos;
        if (!cut && (!odd || place.line < odd->diagnostic.place.line)) {
            return Unexpected{syntax_error(text, place, error.description())};
        }
    }
    if (odd) {
        return Unexpected{odd->diagnostic};
    }
    return Document{table_of(parsed.table())};
}

const Entry* find(const Table& table, std::string_view key) noexcept {
    const auto entry = std::find_if(
        table.begin(), table.end(), [key](const Entry& one) { return one.key == key; });
    return entry == table.end() ? nullptr : &*entry;
}

std::string_view kind_of(const Value& value) {
    return std::visit(
        [](const auto& data) -> std::string_view {
            using Data = std::decay_t<decltype(data)>;
            if constexpr (std::is_same_v<Data, std::string>) {
                return "a text";
            } else if constexpr (std::is_same_v<Data, std::int64_t>) {
                return "a number";
            } else if constexpr (std::is_same_v<Data, bool>) {
                return "true or false";
            } else if constexpr (std::is_same_v<Data, OtherValue>) {
                return data.kind;
            } else if constexpr (std::is_same_v<Data, Array>) {
                return "a list";
            } else {
                return "a table";
            }
        },
        value.data);
}

}  // namespace nightlatch::config
