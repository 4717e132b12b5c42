// SPDX-License-Identifier: MIT
#pragma once

#include "base/ensure.hpp"

#include <string>
#include <utility>
#include <variant>

namespace nightlatch {

/// What kind of operating failure it was, where the caller acts differently on it.
enum class Trouble {
    other,
    no_chip,      ///< no such chip now; it may come
    no_line,      ///< the chip has no such line
    ambiguous,    ///< several chips or lines answer to the name
    busy,         ///< somebody else holds the line
    denied,       ///< no permission: perhaps udev has not set the group yet
    gone,         ///< the chip vanished under us
    unsupported,  ///< the chip cannot do it (no interrupt, say)
    no_bus,       ///< no connection to the system bus
    no_service,   ///< the bus has no login manager and none can be started
};

/// An operating failure: one sentence that says what happened and what to do about it.
struct Error {
    Trouble trouble = Trouble::other;
    std::string text;
    int number = 0;  ///< the errno behind it, 0 where there is none; the text says it in words
};

template <class E>
struct Unexpected {
    E error;
};
template <class E>
Unexpected(E) -> Unexpected<E>;

/// A value or the reason why there is none. Uses only names that std::expected has, so that it can
/// give way to it when the oldest supported compiler has one.
template <class T, class E = Error>
class [[nodiscard]] Result {
public:
    // Implicit on purpose: `return value;` and `return Unexpected{...};` read as they do with
    // std::expected.
    Result(T value) : state_(std::in_place_index<0>, std::move(value)) {}  // NOLINT

    Result(Unexpected<E> bad) : state_(std::in_place_index<1>, std::move(bad.error)) {}  // NOLINT

    [[nodiscard]] bool has_value() const noexcept { return state_.index() == 0; }

    explicit operator bool() const noexcept { return has_value(); }

    [[nodiscard]] T& value() {
        NIGHTLATCH_ENSURE(has_value());
        return *std::get_if<0>(&state_);
    }

    [[nodiscard]] const T& value() const {
        NIGHTLATCH_ENSURE(has_value());
        return *std::get_if<0>(&state_);
    }

    [[nodiscard]] const E& error() const {
        NIGHTLATCH_ENSURE(!has_value());
        return *std::get_if<1>(&state_);
    }

    [[nodiscard]] T& operator*() { return value(); }

    [[nodiscard]] const T& operator*() const { return value(); }

    [[nodiscard]] T* operator->() { return &value(); }

    [[nodiscard]] const T* operator->() const { return &value(); }

private:
    std::variant<T, E> state_;
};

/// For operations that give nothing back but may fail.
using Outcome = Result<std::monostate>;

}  // namespace nightlatch
