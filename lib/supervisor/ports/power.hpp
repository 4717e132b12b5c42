// SPDX-License-Identifier: MIT
#pragma once

#include "core/action.hpp"
#include "core/input.hpp"

#include <string>

namespace nightlatch::ports {

/// What comes back from the login manager, at any time, in any order.
/// Never called from inside a Power call: always later, from the event loop.
struct PowerListener {
    virtual ~PowerListener() = default;

    /// The answer to the one request under way. `text` says who refused and why, for people: the
    /// blocking lock's holder and reason, the policy, …; empty for a plain acceptance.
    virtual void answered(core::AnswerKind kind, const std::string& text) = 0;
    virtual void going_down(bool active, core::GoingDownKind kind) = 0;
    virtual void login_manager(bool present, bool preparing) = 0;
    /// PrepareForSleep(false): the board woke up.
    virtual void resumed() = 0;
};

/// The way to ask for a power-off. One real side (daemon/login, sd-bus) and one that only records.
struct Power {
    Power() = default;
    Power(const Power&) = delete;
    Power& operator=(const Power&) = delete;
    virtual ~Power() = default;

    /// Asks; returns at once. There is at most one request under way, the core sees to that.
    virtual void ask(core::Action action, core::Inhibitors inhibitors) = 0;

    /// Holds the delay inhibitor for shutdown (whenever there is a bus to hold it on), or lets go.
    virtual void hold_delay(bool hold) = 0;
};

}  // namespace nightlatch::ports
