// SPDX-License-Identifier: MIT
#pragma once

#include "core/input.hpp"
#include "daemon/bus/sd_bus.hpp"
#include "daemon/sys/event_loop.hpp"

#include <cstdint>
#include <functional>
#include <string>

namespace nightlatch::login {

/// Asks this manager for PreparingForShutdown; null when out of memory or not connected.
bus::MessageHandle preparing_call(sd_bus* on, const std::string& manager);

/// What the reply says; an error is "cannot tell".
core::BeingPrepared preparing_in(sd_bus_message* reply);

/// The one question whether a shutdown is being prepared. Every one is answered, but for one that a
/// later one has ended, and one that the manager leaves open.
class PreparingQuestion {
public:
    using Told = std::function<void(std::uint32_t question, core::BeingPrepared told)>;

    /// `told` is called from the loop, never from inside ask() or manager_went().
    PreparingQuestion(sys::EventLoop& loop, Told told);

    /// Without a bus (null) or a manager (empty) the answer is "cannot tell".
    void ask(std::uint32_t question, sd_bus* on, const std::string& manager);

    /// What it was asked, it cannot tell any more.
    void manager_went();

private:
    void on_reply(sd_bus_message* reply);

    Told told_;
    sys::Deferred nobody_to_ask_;
    bus::Slot call_;
    std::uint32_t question_ = 0;
};

}  // namespace nightlatch::login
