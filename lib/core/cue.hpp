// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

#include <array>
#include <cstdint>
#include <string_view>

namespace nightlatch::core {

/// Where the whole stands. Every state shows one cue (cue_of).
enum class State : unsigned char {
    waiting,
    rest,
    holding,
    ready,
    stuck,
    countdown,
    asked,
    unanswered,
    leaving,
    refused,
    fault,
};
constexpr std::size_t state_count = 11;

/// What the person is shown.
enum class CueName : unsigned char {
    rest,
    waiting,
    holding,
    ready,
    countdown,
    leaving,
    refused,
    stuck,
    fault,
};
constexpr std::size_t cue_count = 9;

constexpr std::array<CueName, cue_count> all_cues{CueName::rest,
                                                  CueName::waiting,
                                                  CueName::holding,
                                                  CueName::ready,
                                                  CueName::countdown,
                                                  CueName::leaving,
                                                  CueName::refused,
                                                  CueName::stuck,
                                                  CueName::fault};

constexpr std::string_view text_of(CueName cue) noexcept {
    switch (cue) {
    case CueName::rest:
        return "rest";
    case CueName::waiting:
        return "waiting";
    case CueName::holding:
        return "holding";
    case CueName::ready:
        return "ready";
    case CueName::countdown:
        return "countdown";
    case CueName::leaving:
        return "leaving";
    case CueName::refused:
        return "refused";
    case CueName::stuck:
        return "stuck";
    case CueName::fault:
        return "fault";
    }
    return "fault";
}

struct Cue {
    CueName name = CueName::waiting;
    State state = State::waiting;  ///< tells asked and unanswered, which show `leaving`, apart
    Instant since{};
    Instant until = never;  ///< the next stage, the end of the countdown …; never if open
    std::uint32_t stage = UINT32_MAX;  ///< the longest stage reached, as an index; UINT32_MAX: none

    bool operator==(const Cue&) const = default;
};

CueName cue_of(State state) noexcept;
std::string_view text_of(State state) noexcept;

}  // namespace nightlatch::core
