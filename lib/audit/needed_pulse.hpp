// SPDX-License-Identifier: MIT
#pragma once

#include "base/known.hpp"
#include "circuit/read.hpp"
#include "config/settings.hpp"

#include <optional>

namespace nightlatch::audit {

/// How long the circuit needs the post-halt line active, unbroken.
struct NeededPulse {
    Duration pulse{};                  ///< the longer of the two
    std::optional<Duration> stated;    ///< [post_halt] pulse
    std::optional<Duration> computed;  ///< from [circuit], in the worst case of its tolerances
    /// By [circuit] no pulse, however long, makes the supply stay off …
    bool none_at_worst = false;   ///< … at some corner
    bool none_typically = false;  ///< … nor with typical parts
};

/// Rounded up to microseconds, so that what is said of it suffices. Finite seconds.
Duration pulse_of(double seconds);

/// What lib/circuit makes of a configuration's [circuit].
circuit::CircuitRead read_section(const config::CircuitSection& section);

/// Of a circuit that is not complete what is stated counts. Computing takes some ten milliseconds.
Known<NeededPulse> needed_pulse(const config::Settings& settings);

}  // namespace nightlatch::audit
