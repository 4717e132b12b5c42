// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/bounce/bounce.hpp"

#include <string>
#include <vector>

/// Words and sentences about a bounce that its text and its JSON share.
namespace nightlatch::tool {

/// "2.19 ms", "80 us", "0".
std::string length_text(Duration length);

/// "low" or "high".
std::string level_word(bool low);

/// A line to paste into [button].
std::string debounce_line(const bounce::Intervals& intervals);

/// Which level was taken for the pressed one, and why, where nobody said it; else empty.
std::string assumption(const BounceTarget& target, const BounceSeen& seen);

/// "Twice the level came back within 200 ms (…)."; empty when it never did.
std::string came_back(const BounceSeen& seen, const BounceTarget& target);

/// What the person would meet with the configured debounce, and what makes the figures less sure;
/// sentences.
std::vector<std::string> cautions(const BounceTarget& target, const BounceSeen& seen);

}  // namespace nightlatch::tool
