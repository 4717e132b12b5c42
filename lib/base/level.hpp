// SPDX-License-Identifier: MIT
#pragma once

#include <string_view>

namespace nightlatch {

/// A line's logical level. Electrical polarity ends in the adapter that reads or drives the line:
/// for the button, active means pressed.
enum class Level : unsigned char { inactive, active };

constexpr Level operator!(Level level) noexcept {
    return level == Level::active ? Level::inactive : Level::active;
}

constexpr std::string_view text_of(Level level) noexcept {
    return level == Level::active ? "active" : "inactive";
}

}  // namespace nightlatch
