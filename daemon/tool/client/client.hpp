// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/bus/bus.hpp"
#include "daemon/sys/event_loop.hpp"
#include "daemon/tool/client/service_state.hpp"
#include "supervisor/ports/journal.hpp"

#include <chrono>
#include <optional>
#include <string>

namespace nightlatch::tool {

/// The service's side of the bus [org.nightlatch.Nightlatch1.xml].
inline constexpr const char* service_name = "org.nightlatch.Nightlatch1";
inline constexpr const char* service_path = "/org/nightlatch/Nightlatch1";
inline constexpr const char* service_interface = "org.nightlatch.Nightlatch1";

/// How long an answer may take before it is told that there is none.
inline constexpr Duration answer_limit = std::chrono::seconds(5);

/// Told how the service stands, and each change, in order.
struct ServiceFollower {
    virtual ~ServiceFollower() = default;
    virtual void shown(const ServiceState& state) = 0;
    virtual void announced(const std::string& name) = 0;
    /// Once for each spell; `detail` says more where more is known.
    virtual void absent(Absent why, const std::string& detail) = 0;
};

/// Follows the service's object: waits for the bus and for the service, and finds both again when
/// they went away. Nothing that the service tells is lost between the first answer and what follows
/// it, since it listens before it asks.
class ServiceClient final : bus::BusUser {
public:
    ServiceClient(sys::EventLoop& loop, ServiceFollower& follower);

    /// Begins; the follower is told from here on, within answer_limit for the first time. Once.
    void start();

    /// Null unless connected.
    [[nodiscard]] sd_bus* connection() const noexcept { return bus_.get(); }

private:
    /// What the connection has to say to a journal, this client's follower is told instead.
    struct Trouble final : ports::Journal {
        explicit Trouble(ServiceClient& owner) : client(owner) {}

        using ports::Journal::say;

        [[nodiscard]] bool wants(ports::Priority /*priority*/) const noexcept override {
            return true;
        }

        void say(ports::Priority priority,
                 ports::Message message,
                 const std::string& text,
                 std::span<const ports::Field> fields) override;

        ServiceClient& client;
    };

    void bus_connected(sd_bus* bus) override;
    void bus_lost() override;

    void ask_all();
    void on_all(sd_bus_message* reply);
    void on_owner(sd_bus_message* signal);
    void on_changed(sd_bus_message* signal);
    void on_announced(sd_bus_message* signal);
    void out_of_time();
    void forget();
    void tell_absent(Absent why, const std::string& detail);

    sys::EventLoop& loop_;
    ServiceFollower& follower_;
    Trouble trouble_;
    bus::Bus bus_;
    sys::Timer limit_;
    bus::Slot changed_;
    bus::Slot announced_;
    bus::Slot owner_;
    bus::Slot all_;  ///< the question for everything, while it is open
    std::optional<ServiceState> state_;
    std::optional<Absent> told_absent_;
};

}  // namespace nightlatch::tool
