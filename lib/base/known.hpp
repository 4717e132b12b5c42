// SPDX-License-Identifier: MIT
#pragma once

#include "base/ensure.hpp"

#include <optional>
#include <string>
#include <utility>

namespace nightlatch {

/// Something that is known, or what is missing to know it: never a guess in its place.
template <class T>
class Known {
public:
    Known() = default;

    // Implicit on purpose: what is known reads as itself.
    Known(T value) : value_(std::move(value)), missing_() {}  // NOLINT

    /// `what`: a noun phrase for people that ends "cannot tell: … ": "/proc/config.gz (not there)".
    static Known missing(const std::string& what) {
        Known unknown;
        unknown.missing_ = what;
        return unknown;
    }

    explicit operator bool() const noexcept { return value_.has_value(); }

    [[nodiscard]] const T& operator*() const {
        NIGHTLATCH_ENSURE(value_.has_value());
        return *value_;
    }

    [[nodiscard]] const T* operator->() const { return &**this; }

    /// What is missing; empty when it is known.
    [[nodiscard]] const std::string& what_is_missing() const noexcept { return missing_; }

private:
    std::optional<T> value_;
    std::string missing_ = "it was not looked for";
};

}  // namespace nightlatch
