// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/assessment.hpp"

namespace nightlatch::circuit {

/// What follows from the numbers of an assessment, failures first.
std::vector<Finding> findings_of(const Circuit& circuit, const Assessment& assessment);

}  // namespace nightlatch::circuit
