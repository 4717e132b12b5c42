// SPDX-License-Identifier: MIT
#pragma once

#include "core/input.hpp"
#include "daemon/bus/sd_bus.hpp"

#include <string>
#include <vector>

namespace nightlatch::login {

/// Told of the login manager's comings and goings, and of what it announces to all.
struct PresenceUser {
    virtual ~PresenceUser() = default;
    /// From now on the bus has said whether there is a login manager: known() is true.
    virtual void manager_is_known() = 0;
    /// A new owner of the name; manager_came() follows once it has said whether it is preparing.
    virtual void manager_appeared() = 0;
    virtual void manager_came(bool preparing) = 0;
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

    [[nodiscard]] bool preparing() const noexcept { return preparing_; }

private:
    void subscribe(const char* member, sd_bus_message_handler_t handler);
    void owner_is(const std::string& owner);
    void on_owner(sd_bus_message* reply);
    void on_owner_changed(sd_bus_message* signal);
    void on_preparing(sd_bus_message* reply);
    void on_prepare(sd_bus_message* signal);
    void on_prepare_with_metadata(sd_bus_message* signal);
    void on_sleep(sd_bus_message* signal);
    [[nodiscard]] bool from_manager(sd_bus_message* signal) const;
    void shutdown(bool active, core::GoingDownKind kind);

    PresenceUser& user_;
    sd_bus* bus_ = nullptr;
    std::vector<bus::Slot> slots_;
    bus::Slot property_call_;
    bool known_ = false;
    std::string owner_;
    bool preparing_ = false;
};

}  // namespace nightlatch::login
