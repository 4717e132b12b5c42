// SPDX-License-Identifier: MIT
#pragma once

#include <optional>
#include <span>
#include <string_view>

namespace nightlatch {

/// The one of `known` that the person most likely meant by `typed`: a slip of a letter or two, two
/// letters swapped, '-' for '_', another case, or a word cut short or run on ("hold_time" for
/// "hold"). Nothing when none is near; of equally near ones the first.
std::optional<std::string_view> nearest(std::string_view typed,
                                        std::span<const std::string_view> known);

}  // namespace nightlatch
