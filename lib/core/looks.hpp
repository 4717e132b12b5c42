// SPDX-License-Identifier: MIT
#pragma once

#include "core/cue.hpp"
#include "core/pattern.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <vector>

namespace nightlatch::core {

/// What one output shows: a lamp's looks, a buzzer's sounds.
struct Looks {
    std::array<Pattern, cue_count> by_cue{};  ///< by CueName
    /// `ready` of each stage, by the stage's index; empty: one look for all, by_cue's.
    std::vector<Pattern> ready_by_stage;

    bool operator==(const Looks&) const = default;
};

inline const Pattern& look_of(const Looks& looks, const Cue& cue) {
    const bool by_stage = cue.name == CueName::ready && cue.stage < looks.ready_by_stage.size();
    return by_stage ? looks.ready_by_stage[cue.stage]
                    : looks.by_cue[static_cast<std::size_t>(cue.name)];
}

/// Does what is shown go on as if nothing had come? A blink keeps its rhythm, a pulse plays again.
inline bool goes_on(const Pattern& shown, const Pattern& next) {
    return shown == next && next.kind != PatternKind::pulse;
}

/// Is the cue seen or heard at all?
inline bool shows(const Looks& looks, CueName cue) {
    const auto is_seen = [](const Pattern& look) { return look.kind != PatternKind::off; };
    return cue == CueName::ready && !looks.ready_by_stage.empty()
               ? std::any_of(looks.ready_by_stage.begin(), looks.ready_by_stage.end(), is_seen)
               : is_seen(looks.by_cue[static_cast<std::size_t>(cue)]);
}

}  // namespace nightlatch::core
