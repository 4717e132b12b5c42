// SPDX-License-Identifier: MIT
#pragma once

#include "rehearsal/rehearsal.hpp"

#include <string>
#include <vector>

namespace nightlatch::rehearsal {

/// An expectation of the script beside what came of it.
struct Checked {
    Place place;
    bool met = false;
    std::string expected;  ///< "20.400 s  power-off is asked for (give or take 10 ms)"
    std::string happened;  ///< "20.310 s  power-off is asked for"
};

/// In the order of the script.
std::vector<Checked> check_expectations(const std::vector<Expectation>& expectations,
                                        const Rehearsal& rehearsal);

/// The [[expect]] tables that this rehearsal meets, to be pasted into its script.
std::string expectations_of(const Rehearsal& rehearsal);

}  // namespace nightlatch::rehearsal
