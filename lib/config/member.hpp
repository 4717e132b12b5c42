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
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace nightlatch::config {

template <class T>
struct MemberPath;

template <class Class, class Leaf>
struct MemberPath<Leaf Class::*> {
    using Owner = Class;
};

// The `Wanted` that is in a holder. When there is none: nullptr in settings that are only looked
// at; in others it is made.

template <class Wanted>
Wanted* inside(Wanted& holder, std::size_t /*at*/) {
    return &holder;
}

template <class Wanted>
const Wanted* inside(const Wanted& holder, std::size_t /*at*/) {
    return &holder;
}

template <class Wanted>
Wanted* inside(std::vector<Wanted>& holder, std::size_t at) {
    return &holder[at];
}

template <class Wanted>
const Wanted* inside(const std::vector<Wanted>& holder, std::size_t at) {
    return &holder[at];
}

template <class Wanted>
Wanted* inside(std::optional<Wanted>& holder, std::size_t /*at*/) {
    return holder ? &*holder : &holder.emplace();
}

template <class Wanted>
const Wanted* inside(const std::optional<Wanted>& holder, std::size_t /*at*/) {
    return holder ? &*holder : nullptr;
}

template <class Wanted, class... Choices>
Wanted* inside(std::variant<Choices...>& holder, std::size_t /*at*/) {
    auto* const found = std::get_if<Wanted>(&holder);
    return found != nullptr ? found : &holder.template emplace<Wanted>();
}

template <class Wanted, class... Choices>
const Wanted* inside(const std::variant<Choices...>& holder, std::size_t /*at*/) {
    return std::get_if<Wanted>(&holder);
}

template <auto First, auto... Rest, class Holder>
auto* find_member(Holder& holder, std::size_t at) {
    auto* const owner = inside<typename MemberPath<decltype(First)>::Owner>(holder, at);
    if constexpr (sizeof...(Rest) > 0) {
        using Found = decltype(find_member<Rest...>(owner->*First, at));
        return owner != nullptr ? find_member<Rest...>(owner->*First, at) : Found{nullptr};
    } else {
        return owner != nullptr ? &(owner->*First) : nullptr;
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
template <const auto& Words>
struct AsWord {
    template <class T>
    static std::optional<KeyValue> get(const T& kept) {
        return KeyValue(std::string(word_for(Words, kept)));
    }

    template <class T>
    static std::optional<KeyValue> get(const std::optional<T>& kept) {
        return kept ? get(*kept) : std::nullopt;
    }

    template <class T>
    static void set(T& kept, const KeyValue& value) {
        const auto& text = std::get<std::string>(value);
        const auto word = std::find_if(
            Words.begin(), Words.end(), [&](const auto& one) { return one.text == text; });
        NIGHTLATCH_ENSURE(word != Words.end());
        kept = word->value;
    }
};

template <class As, auto... Path>
constexpr Member member_as{[](const Settings& settings, std::size_t at) -> std::optional<KeyValue> {
                               const auto* const kept = find_member<Path...>(settings, at);
                               return kept != nullptr ? As::get(*kept) : std::nullopt;
                           },
                           [](Settings& settings, std::size_t at, const KeyValue& value) {
                               As::set(*find_member<Path...>(settings, at), value);
                           }};

template <auto... Path>
constexpr Member member = member_as<AsItIs, Path...>;

template <const auto& Words, auto... Path>
constexpr Member word_member = member_as<AsWord<Words>, Path...>;

/// Only the words' texts.
template <const auto& Words>
constexpr auto texts_of = [] {
    std::array<std::string_view, Words.size()> texts;
    std::transform(
        Words.begin(), Words.end(), texts.begin(), [](const auto& word) { return word.text; });
    return texts;
}();

}  // namespace nightlatch::config
