// SPDX-License-Identifier: MIT
#pragma once

#include "core/settings.hpp"
#include "property/model.hpp"
#include "support/harness.hpp"

#include <string>

namespace nightlatch::test {

/// Whether what left at `left.at` is justified by what was seen of the line: from known released, a
/// hold of at least the stage's length in which no drop-out reached the release interval. Says what
/// is missing; empty if nothing is. Weaker than the model and much shorter: easy to believe.
std::string unjustified(const core::Settings& settings, const model::Line& seen, const Left& left);

}  // namespace nightlatch::test
