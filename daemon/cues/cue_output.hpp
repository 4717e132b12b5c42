// SPDX-License-Identifier: MIT
#pragma once

#include "core/cue.hpp"

namespace nightlatch::cues {

enum class Farewell : unsigned char {
    stopped,   ///< stopped by a person or a restart: give back what was found
    shutdown,  ///< the machine goes down: leave the `leaving` cue standing
    unusable,  ///< ended by a bad configuration: leave the `fault` cue standing on LEDs
};

/// Whatever shows cues: an LED, a GPIO line, a terminal.
struct CueOutput {
    CueOutput() = default;
    CueOutput(const CueOutput&) = delete;
    CueOutput& operator=(const CueOutput&) = delete;
    virtual ~CueOutput() = default;

    /// Called only when the cue changed.
    virtual void show(const core::Cue& cue) = 0;
    virtual void finish(Farewell farewell) = 0;
};

}  // namespace nightlatch::cues
