// SPDX-License-Identifier: MIT
#pragma once

#include "property/scene.hpp"

#include <catch2/catch_test_macros.hpp>

namespace nightlatch::test {

using namespace core;

/// Asked for, and not yet handed to the bus.
inline Scene unsent() {
    Scene scene(State::rest);
    scene.shell.sends = false;
    scene.hold(4s);
    return scene;
}

inline Scene accepted() {
    Scene scene(State::asked);
    scene.answer(AnswerKind::accepted);
    return scene;
}

inline Scene own_leaving() {
    Scene scene = accepted();
    scene.going_down(true);
    return scene;
}

inline Scene dry() {
    Scene scene(State::asked);
    scene.answer(AnswerKind::would_do);
    return scene;
}

/// After it a hold asks anew, once.
inline void check_next_press_asks(Scene& scene) {
    const std::size_t before = scene.asks();
    const std::uint32_t number = before > 0 ? scene.last_ask().number : 0;
    scene.hold(4s);
    CHECK(scene.asks() == before + 1);
    CHECK(scene.last_ask().number > number);
}

}  // namespace nightlatch::test
