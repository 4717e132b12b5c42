// SPDX-License-Identifier: MIT
#pragma once

#include "core/input.hpp"
#include "daemon/bus/bus.hpp"
#include "daemon/login/login_manager.hpp"
#include "daemon/login/presence.hpp"
#include "daemon/login/second_route.hpp"
#include "daemon/login/texts.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::login {

/// Told how the request ended; never from inside begin().
struct RequestUser {
    virtual ~RequestUser() = default;
    virtual void request_ended(core::AnswerKind kind, const std::string& text) = 0;
};

/// One request's life:
///
///   waiting    for the bus, and for it to say who the login manager is
///   finding    no manager runs: can the bus start one?      no: posted (the second route)
///   looking    reads the list of locks, asks polkit what we may      blocked: ended, not asked
///   asking     the one call that acts; no time-out          answered: ended
///   explaining refused: reads the list again, to say who blocks
///   posted     the second route's file waits to be taken up
///
/// Up to `asking` it can be given up for certain, and is when it takes too long or the manager
/// goes. From there only an answer ends it, or the manager's going and its successor (see lost()).
class Request {
public:
    struct World {
        sys::EventLoop& loop;
        ports::Journal& journal;
        bus::Bus& bus;
        const Presence& presence;
    };

    Request(const World& world, const Options& options, RequestUser& user);

    /// Begins a new one, whatever became of the one before.
    void begin(core::Action action, core::Inhibitors inhibitors);

    void manager_is_known();
    void manager_went();

    void bus_lost() { manager_went(); }

    [[nodiscard]] bool under_way() const noexcept { return phase_ != Phase::none; }

    /// Sent to a manager that has gone since: it has failed if the next one is not preparing.
    [[nodiscard]] bool lost() const noexcept { return phase_ == Phase::asking && manager_gone_; }

    /// Ends it without a word.
    void forget();

    SecondRoute& second_route() noexcept { return route_; }

private:
    enum class Phase : unsigned char {
        none,
        waiting,
        finding,
        looking,
        asking,
        explaining,
        posted,
    };
    /// How to ask, newest first; an older manager says that it does not know the way.
    enum class Way : unsigned char { skip_locks, flags, plain };

    void proceed();
    void find();
    void look();
    void ask_polkit();
    void decide();
    [[nodiscard]] bus::MessageHandle message_for(Way way) const;
    void call(Way way);
    void explain();
    void take_second_route(const std::string& why);
    void pass_deadline();
    void end(core::AnswerKind kind, const std::string& text);

    void refuse(const std::string& text) { end(core::AnswerKind::refused, text); }

    void on_activatable(sd_bus_message* reply);
    void on_list(sd_bus_message* reply);
    void on_authorized(sd_bus_message* reply);
    void on_answer(sd_bus_message* reply);
    void on_list_after(sd_bus_message* reply);
    void on_second_route(bool taken_up);

    World world_;
    const Options& options_;
    RequestUser& user_;
    sys::Deferred start_;
    sys::Timer deadline_;
    SecondRoute route_;

    Phase phase_ = Phase::none;
    core::Action action_ = core::Action::power_off;
    core::Inhibitors inhibitors_ = core::Inhibitors::respect;
    Way way_ = Way::flags;
    bool manager_gone_ = false;
    bus::Slot call_;         ///< the one under way; of looking, the list's
    bus::Slot polkit_call_;  ///< of looking
    std::optional<std::vector<Lock>> locks_;
    std::string list_trouble_;
    Refusal refusal_;
    bool told_too_much_allowed_ = false;
};

}  // namespace nightlatch::login
