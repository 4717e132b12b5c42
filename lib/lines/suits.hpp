// SPDX-License-Identifier: MIT
#pragma once

#include "lines/pins.hpp"

#include <string>
#include <vector>

/// Which lines a button may be wired to, by what the kernel, the tree and the pin controllers say.
namespace nightlatch::lines {

enum class TreeUseKind : unsigned char { post_halt, key, led, hog, other };

/// An enabled node of the device tree that names a line, whether or not a driver holds the line
/// now.
struct TreeUse {
    TreeUseKind kind = TreeUseKind::other;
    std::string controller;  ///< path of the line's controller
    unsigned offset = 0;
    std::string by;  ///< path of the node, with the property where it is an `other`
};

enum class Suits : unsigned char {
    yes,
    with_care,  ///< it works, with what `why` says
    no,
};

struct LineView {
    bool free = true;  ///< nobody holds it now
    Suits suits = Suits::yes;
    std::vector<std::string> why;  ///< short phrases, what weighs most first; empty for a plain yes
    PinUse pin;
};

/// `offset` is one of the chip's lines. What could not be seen is no reason against a line; whoever
/// shows the view says once what was not seen.
LineView view_line(const Chip& chip,
                   unsigned offset,
                   const std::vector<TreeUse>& uses,
                   const Known<Pins>& pins);

}  // namespace nightlatch::lines
