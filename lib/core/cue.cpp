// SPDX-License-Identifier: MIT
#include "core/cue.hpp"

namespace nightlatch::core {

CueName cue_of(State state) noexcept {
    switch (state) {
    case State::waiting:
        return CueName::waiting;
    case State::rest:
        return CueName::rest;
    case State::holding:
        return CueName::holding;
    case State::ready:
        return CueName::ready;
    case State::stuck:
        return CueName::stuck;
    case State::countdown:
        return CueName::countdown;
    case State::asked:
    case State::unanswered:
    case State::leaving:
        return CueName::leaving;
    case State::refused:
        return CueName::refused;
    case State::fault:
        return CueName::fault;
    }
    return CueName::fault;
}

std::string_view text_of(State state) noexcept {
    switch (state) {
    case State::asked:
        return "asked";
    case State::unanswered:
        return "unanswered";
    case State::waiting:
    case State::rest:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::countdown:
    case State::leaving:
    case State::refused:
    case State::fault:
        return text_of(cue_of(state));
    }
    return "fault";
}

}  // namespace nightlatch::core
