// SPDX-License-Identifier: MIT
#pragma once

#include "core/action.hpp"
#include "daemon/bus/bus.hpp"
#include "daemon/login/presence.hpp"
#include "daemon/login/texts.hpp"
#include "daemon/sys/event_loop.hpp"
#include "supervisor/ports/power.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::login {

/// What a request works with.
struct World {
    sys::EventLoop& loop;
    ports::Journal& journal;
    bus::Bus& bus;
    const Presence& presence;
    ports::PowerListener& listener;
};

/// What is asked for.
struct Wish {
    std::uint32_t request = 0;
    core::Action action = core::Action::power_off;
    core::Inhibitors inhibitors = core::Inhibitors::respect;
};

/// The one call that acts, from handing it to the bus to its answer, for which there is no limit:
/// it cannot be recalled. Its answer is the listener's, whatever has been asked since.
///
///   asking     the call itself                              answered: free
///   checking   an operation is in progress: a shutdown, or a sleep?
///   explaining refused: reads the list of locks, to say who blocks
class SentCall {
public:
    SentCall(const World& world, Duration explanation);
    SentCall(const SentCall&) = delete;
    SentCall& operator=(const SentCall&) = delete;
    ~SentCall() = default;

    /// Sends it to the manager of now, unless the listener says that it is over; tells that it was
    /// sent. False: it was not. Whatever it did before is forgotten. From the event loop only.
    bool send(const Wish& wish);

    /// What there is to say is said without what the manager was asked since.
    void manager_went();

    [[nodiscard]] bool free() const noexcept { return phase_ == Phase::free; }

    [[nodiscard]] std::uint32_t request() const noexcept { return wish_.request; }

private:
    enum class Phase : unsigned char { free, asking, checking, explaining };
    /// How to ask, newest first; an older manager says that it does not know the way.
    enum class Way : unsigned char { skip_locks, flags, plain };

    [[nodiscard]] bus::MessageHandle message_for(Way way) const;
    bool call(Way way);
    void try_again(Way way);
    void check();
    void explain();
    void limit_explanation();
    void pass_deadline();
    void end(core::AnswerKind kind, const ports::Said& said);

    void on_answer(sd_bus_message* reply);
    void on_preparing(sd_bus_message* reply);
    void on_list(sd_bus_message* reply);
    void tell_progress(core::BeingPrepared shutdown);
    void tell_refusal();

    World world_;
    const Duration explanation_;
    sys::Timer deadline_;

    Phase phase_ = Phase::free;
    Wish wish_;
    Way way_ = Way::flags;
    std::string manager_;  ///< its unique name
    bus::Slot call_;
    std::optional<std::vector<Lock>> locks_;
    Refusal refusal_;
};

}  // namespace nightlatch::login
