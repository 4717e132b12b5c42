// SPDX-License-Identifier: MIT
#pragma once

#include "core/input.hpp"
#include "daemon/bus/sd_bus.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::login {

/// Told of the login manager's comings and goings, and of what it announces to all.
struct PresenceUser {
    virtual ~PresenceUser() = default;
    /// From now on the bus has said whether there is a login manager: known() is true.
    virtual void manager_is_known() = 0;
    /// The name has an owner, or a new one; after manager_went() for the one before.
    virtual void manager_came() = 0;
    virtual void manager_went() = 0;
    virtual void shutdown_announced(bool active, core::GoingDownKind kind) = 0;
    virtual void sleep_is_over() = 0;
};

/// Who the login manager is now, followed by the name's owner: what another connection sends in its
/// name is not heard.
class Presence {
public:
    explicit Presence(PresenceUser& user) : user_(user) {}

    void connected(sd_bus* bus);
    void disconnected();

    [[nodiscard]] bool known() const noexcept { return known_; }

    /// The unique name on the bus, empty when there is no login manager now.
    [[nodiscard]] const std::string& owner() const noexcept { return owner_; }

    /// What it has answered: an announcement of the same is no news then.
    void preparing_is(bool preparing) { preparing_ = preparing; }

private:
    void subscribe(const char* member, sd_bus_message_handler_t handler);
    void owner_is(const std::string& owner);
    void on_owner(sd_bus_message* reply);
    void on_owner_changed(sd_bus_message* signal);
    void on_prepare(sd_bus_message* signal);
    void on_prepare_with_metadata(sd_bus_message* signal);
    void on_sleep(sd_bus_message* signal);
    [[nodiscard]] bool from_manager(sd_bus_message* signal) const;
    void shutdown(bool active, core::GoingDownKind kind);

    PresenceUser& user_;
    sd_bus* bus_ = nullptr;
    std::vector<bus::Slot> slots_;
    bool known_ = false;
    std::string owner_;
    std::optional<bool> preparing_;  ///< as announced or answered last; nothing: not known
};

}  // namespace nightlatch::login
