// SPDX-License-Identifier: MIT
// How a key finds its value in the settings: a path of members, `member<&Settings::core,
// &core::Settings::grace>`. Where a member is an optional, a list or a choice, the next one is of
// what is in there.
#pragma once

#include "base/ensure.hpp"
#include "config/keys.hpp"
#include "config/words.hpp"

#include <algorithm>
#include <array>
#include <type_traits>

namespace nightlatch::config {

template <class T>
struct MemberPath;

template <class Class, class Leaf>
struct MemberPath<Leaf Class::*> {
    using Owner = Class;
};

/// The `Wanted` that is in `holder`. When there is none: nullptr in settings that are only looked
/// at; in others it is made.
template <class Wanted, class Holder>
auto* inside(Holder& holder, std::size_t at) {
    using Plain = std::remove_const_t<Holder>;
    constexpr bool makes = !std::is_const_v<Holder>;
    if constexpr (std::is_same_v<Plain, Wanted>) {
        return &holder;
    } else if constexpr (std::is_same_v<Plain, std::vector<Wanted>>) {
        return &holder[at];
    } else if constexpr (std::is_same_v<Plain, std::optional<Wanted>>) {
        if constexpr (makes) {
            return holder ? &*holder : &holder.emplace();
        } else {
            return holder ? &*holder : nullptr;
        }
    } else {
        auto* const found = std::get_if<Wanted>(&holder);
        if constexpr (makes) {
            return found != nullptr ? found : &holder.template emplace<Wanted>();
        } else {
            return found;
        }
    }
}

template <auto first, auto... rest, class Holder>
auto* find_member(Holder& holder, std::size_t at) {
    auto* const owner = inside<typename MemberPath<decltype(first)>::Owner>(holder, at);
    if constexpr (sizeof...(rest) > 0) {
        using Found = decltype(find_member<rest...>(owner->*first, at));
        return owner != nullptr ? find_member<rest...>(owner->*first, at) : Found{nullptr};
    } else {
        return owner != nullptr ? &(owner->*first) : nullptr;
    }
}

/// For a value that is kept as it is read, and one that may be unstated.
struct AsItIs {
    template <class T>
    static std::optional<KeyValue> get(const T& kept) {
        return KeyValue(kept);
    }

    template <class T>
    static std::optional<KeyValue> get(const std::optional<T>& kept) {
        return kept ? get(*kept) : std::nullopt;
    }

    template <class T>
    static void set(T& kept, const KeyValue& value) {
        kept = std::get<T>(value);
    }

    template <class T>
    static void set(std::optional<T>& kept, const KeyValue& value) {
        kept = std::get<T>(value);
    }
};

/// For a value that is kept as what its word means.
template <const auto& words>
struct AsWord {
    template <class T>
    static std::optional<KeyValue> get(const T& kept) {
        return KeyValue(std::string(word_for(words, kept)));
    }

    template <class T>
    static std::optional<KeyValue> get(const std::optional<T>& kept) {
        return kept ? get(*kept) : std::nullopt;
    }

    template <class T>
    static void set(T& kept, const KeyValue& value) {
        const auto& text = std::get<std::string>(value);
        const auto word = std::find_if(
            words.begin(), words.end(), [&](const auto& one) { return one.text == text; });
        NIGHTLATCH_ENSURE(word != words.end());
        kept = word->value;
    }
};

template <class As, auto... path>
constexpr Member member_as{[](const Settings& settings, std::size_t at) -> std::optional<KeyValue> {
                               const auto* const kept = find_member<path...>(settings, at);
                               return kept != nullptr ? As::get(*kept) : std::nullopt;
                           },
                           [](Settings& settings, std::size_t at, const KeyValue& value) {
                               As::set(*find_member<path...>(settings, at), value);
                           }};

template <auto... path>
constexpr Member member = member_as<AsItIs, path...>;

template <const auto& words, auto... path>
constexpr Member word_member = member_as<AsWord<words>, path...>;

/// Only the words' texts.
template <const auto& words>
constexpr auto texts_of = [] {
    std::array<std::string_view, words.size()> texts;
    std::transform(
        words.begin(), words.end(), texts.begin(), [](const auto& word) { return word.text; });
    return texts;
}();

}  // namespace nightlatch::config
