// SPDX-License-Identifier: MIT
#pragma once

#include "audit/grounds.hpp"
#include "audit/witness.hpp"

#include <cstdint>
#include <string>

namespace nightlatch::audit {

/// What the logbook has of it.
struct WitnessedRun {
    std::uint64_t run = 0;
    std::string words;
    std::string facts;  ///< as `audit --save` writes them
};

/// Proven is what was watched while today's facts are those of then.
Witness witness_of(WitnessedRun run, const Grounds& now, const VerdictResult& verdict);

}  // namespace nightlatch::audit
