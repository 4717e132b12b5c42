// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/bus/sd_bus.hpp"
#include "daemon/sys/event_loop.hpp"
#include "supervisor/ports/journal.hpp"

#include <string>
#include <vector>

namespace nightlatch::bus {

/// Told of the connection as a whole.
struct BusUser {
    virtual ~BusUser() = default;
    virtual void bus_connected(sd_bus* bus) = 0;
    virtual void bus_lost() = 0;  ///< after bus_connected(); every pending call has had its error
};

/// The connection to the system bus, kept up for ever: waits for a bus that is not there yet, and
/// connects again, with back-off, to one that went away. Says each trouble once, and its end.
class Bus {
public:
    Bus(sys::EventLoop& loop, ports::Journal& journal);

    /// Users are told in the order in which they were added. Before start(); each must outlive the
    /// last turn of the loop.
    void add(BusUser& user) { users_.push_back(&user); }

    /// Begins to connect ($DBUS_SYSTEM_BUS_ADDRESS, or the system bus's own socket). Once.
    void start();

    /// Somebody wants it now: do not sit out the back-off.
    void hurry();

    /// Null unless connected.
    [[nodiscard]] sd_bus* get() const noexcept { return connected_ ? bus_.get() : nullptr; }

    /// Nobody has bound the bus's socket: a fact, unlike a bus that merely does not answer.
    [[nodiscard]] bool nobody_listens() const noexcept;

    /// Why there is no connection, for people.
    [[nodiscard]] std::string trouble() const;

private:
    void connect();
    int begin();
    void on_connected(sd_bus_message* message);
    void on_disconnected(sd_bus_message* message);
    void look_again();
    void announce();

    sys::EventLoop& loop_;
    ports::Journal& journal_;
    std::vector<BusUser*> users_;
    sys::Timer again_;
    BusHandle bus_;
    bool connected_ = false;
    bool announced_ = false;
    int failure_ = 0;  ///< of the last attempt to connect, a negative errno
    Duration back_off_;
};

}  // namespace nightlatch::bus
