// SPDX-License-Identifier: MIT
#pragma once

#include "support/seeds.hpp"
#include "wave/timeline.hpp"

namespace nightlatch::test {

/// A timeline as a rehearsal makes them: bounces, unknown stretches, cues, decisions, requests,
/// some of them in one moment. All times are whole multiples of `step`; `steps` of them at most.
wave::Timeline random_timeline(Dice& dice, Duration step, std::uint64_t steps);

}  // namespace nightlatch::test
