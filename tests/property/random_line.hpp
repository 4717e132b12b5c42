// SPDX-License-Identifier: MIT
#pragma once

#include "property/model.hpp"
#include "support/seeds.hpp"

namespace nightlatch::test {

/// Settings as the configuration would allow them: all ways to act, one to three stages.
core::Settings random_settings(Dice& dice);

/// Limits that a line of some tens of samples reaches.
core::Limits impatient_limits(Dice& dice);

/// Up to `most` samples, most of them alternating, at distances on and around the settings' limits.
model::Line random_line(Dice& dice, const core::Settings& settings, std::size_t most);

}  // namespace nightlatch::test
