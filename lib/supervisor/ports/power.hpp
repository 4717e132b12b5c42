// SPDX-License-Identifier: MIT
#pragma once

#include "core/action.hpp"
#include "core/input.hpp"

#include <cstdint>
#include <optional>
#include <string>

namespace nightlatch::ports {

/// A block lock that is in the way: who holds it, and what for. Other people's words, made safe.
struct Blocker {
    std::string who;
    std::string why;

    bool operator==(const Blocker&) const = default;
};

/// What is said with an answer, for people: who refused and why, the policy, …; empty for a plain
/// acceptance.
struct Said {
    std::string text;
    std::optional<Blocker> blocker{};  ///< where it is that which refused
};

/// What comes back from the login manager, at any time, in any order.
/// Never called from inside a Power call: always later, from the event loop.
struct PowerListener {
    virtual ~PowerListener() = default;

    /// Asked at the last moment, just before the call that acts is handed to the bus (or the second
    /// route's file is made): false when this request is over by now; it is not made then. The
    /// answer `sent` follows at once when it was.
    [[nodiscard]] virtual bool may_send(std::uint32_t request) = 0;

    /// What became of this request.
    virtual void answered(std::uint32_t request, core::AnswerKind kind, const Said& said) = 0;

    /// PrepareForShutdown.
    virtual void going_down(bool active, core::GoingDownKind kind) = 0;

    /// The answer to ask_preparing().
    virtual void preparing(std::uint32_t question, core::BeingPrepared told) = 0;

    /// Its name has a new owner, or none (or we have lost the bus). Present at each connection.
    virtual void login_manager(bool present) = 0;

    /// PrepareForSleep(false): the board woke up.
    virtual void resumed() = 0;
};

/// The way to ask for a power-off. One real side (daemon/login, sd-bus) and one that only records.
struct Power {
    Power() = default;
    Power(const Power&) = delete;
    Power& operator=(const Power&) = delete;
    virtual ~Power() = default;

    /// Asks; returns at once. A later one ends whatever this side still does for an earlier one.
    virtual void ask(std::uint32_t request, core::Action action, core::Inhibitors inhibitors) = 0;

    /// This request is over: if it has not been sent, it is not sent any more.
    virtual void withdraw(std::uint32_t request) = 0;

    /// Asks what PreparingForShutdown reads; returns at once. A later question ends an earlier one.
    /// With no bus, or on an error, the answer is `cannot_tell`; without one for long the core goes
    /// on by itself.
    virtual void ask_preparing(std::uint32_t question) = 0;

    /// Holds the delay inhibitor for shutdown (whenever there is a bus to hold it on), or lets go.
    virtual void hold_delay(bool hold) = 0;
};

}  // namespace nightlatch::ports
