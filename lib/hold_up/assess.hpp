// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/assessment.hpp"
#include "hold_up/budget.hpp"

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::hold_up {

/// One thing that would be enough by itself, computed at the worst corner, with the lines to paste.
struct Change {
    std::string words;    ///< "a capacity of 22 F instead of 10 F"
    std::string line;     ///< `capacity = "22 F -20 +20 %"`; empty: nothing to paste
    double margin = 0.0;  ///< s at the worst corner, with it
};

struct Assessed {
    HoldUp hold_up;
    Notice notice;
    Budget typical;
    Budget worst;
    std::string headline;
    std::vector<Change> changes;  ///< only where the worst corner has too little
    std::vector<circuit::Finding> findings;

    [[nodiscard]] bool is_enough() const {
        return worst.lasts > 0.0 && worst.margin >= hold_up.margin;
    }
};

Assessed assess(const HoldUp& hold_up, const Notice& notice);

/// What helps by itself, in this order, each only where it does: capacity (of a capacitor the next
/// of E6, IEC 60063; of a cell two digits), shorter `lasting`, less power or current, a lower
/// cut-out, going down faster.
std::vector<Change> changes_for(const HoldUp& hold_up, const Notice& notice);

/// What every output carries, a sentence each.
std::span<const std::string_view> cautions() noexcept;

}  // namespace nightlatch::hold_up
