// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"
#include "devicetree/inventory.hpp"

#include <string>
#include <vector>

/// Which lines a button may be wired to, by what the kernel, the tree and the pin controllers say.
namespace nightlatch::audit {

enum class TreeUseKind : unsigned char { post_halt, key, led, hog, other };

/// An enabled node of the tree that names a line, whether or not a driver holds the line now.
struct TreeUse {
    TreeUseKind kind = TreeUseKind::other;
    std::string controller;  ///< path of the line's controller
    unsigned offset = 0;
    std::string by;  ///< path of the node, with the property where it is an `other`
};

std::vector<TreeUse> tree_uses(const devicetree::Tree& tree,
                               const devicetree::Inventory& inventory);

enum class PinNow : unsigned char {
    gpio,
    other,    ///< a request of the line would take the pin away from it
    unknown,  ///< and so never requested unless a person names the line
};

struct PinUse {
    PinNow now = PinNow::unknown;
    std::string what;  ///< of `other`: "sdhost for 3f202000.mmc"; of `unknown`: why
};

/// What a line's pin is used as, by the pin controllers' view [linux Documentation/driver-api/
/// pin-control.rst]. A pin that nobody has claimed is unknown: the firmware may have set it to
/// anything.
PinUse pin_use(const Known<Pins>& pins, const Chip& chip, unsigned offset);

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

}  // namespace nightlatch::audit
