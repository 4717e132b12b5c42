// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/login/login_manager.hpp"
#include "daemon/login/second_route.hpp"
#include "daemon/login/sent_call.hpp"

#include <array>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::login {

/// The latest request's life, up to the call that acts; from there it is a SentCall's:
///
///   waiting    for the bus, and for it to say who the login manager is
///   finding    no manager runs: can the bus start one?      no: posted (the second route)
///   looking    reads the list of locks, asks polkit what we may; a dry run also asks the manager
///              blocked: ended, not asked; the manager cannot be started: posted
///   posted     the second route's file waits to be taken up
///
/// Up to here it can be given up for certain, and is when it takes too long or the manager goes.
class Request {
public:
    Request(const World& world, const Options& options);

    /// Begins a new one. What an earlier one has not sent is not sent any more; of what it has, the
    /// answer is still told.
    void begin(const Wish& wish);

    /// Does not send this one, unless it has been sent.
    void withdraw(std::uint32_t request);

    void manager_is_known();
    void manager_went();

    SecondRoute& second_route() noexcept { return route_; }

private:
    enum class Phase : unsigned char { none, waiting, finding, looking, posted };

    void proceed();
    void find();
    void look();
    void ask_polkit();
    void decide();
    void send();
    void ask_leave();
    [[nodiscard]] SentCall& free_call();
    void take_second_route(const std::string& why);
    void would_do(const std::string& told);
    void pass_deadline();
    void forget();
    void end(core::AnswerKind kind, const ports::Said& said);
    void refuse(const std::string& text,
                const std::optional<std::vector<Lock>>& in_the_way = std::nullopt);

    void on_activatable(sd_bus_message* reply);
    void on_list(sd_bus_message* reply);
    void on_authorized(sd_bus_message* reply);
    void on_leave(sd_bus_message* reply);
    void on_second_route(bool taken_up);

    World world_;
    const Options& options_;
    sys::Deferred start_;
    sys::Timer deadline_;
    SecondRoute route_;
    std::array<SentCall, 3> calls_;  ///< more than anybody can have open: one in two minutes

    Phase phase_ = Phase::none;
    Wish wish_;
    bus::Slot call_;         ///< the one under way; of looking, the list's
    bus::Slot polkit_call_;  ///< of looking
    std::optional<std::vector<Lock>> locks_;
    std::optional<bool> may_pass_locks_;  ///< as polkit said
    std::string list_trouble_;
    bool told_too_much_allowed_ = false;
};

}  // namespace nightlatch::login
