// SPDX-License-Identifier: MIT
#include "daemon/bus/bus.hpp"

#include <algorithm>
#include <cstdlib>
#include <cstring>

#include <sys/stat.h>

namespace nightlatch::bus {
namespace {

using namespace std::chrono_literals;

constexpr Duration first_back_off = 1s;
constexpr Duration longest_back_off = 60s;

constexpr const char* local_path = "/org/freedesktop/DBus/Local";
constexpr const char* local_interface = "org.freedesktop.DBus.Local";

const char* address() {
    const char* given = secure_getenv("DBUS_SYSTEM_BUS_ADDRESS");
    // [D-Bus specification, "Well-known Message Bus Instances"; sd_bus_default_system(3)]
    return given != nullptr ? given : "unix:path=/run/dbus/system_bus_socket";
}

}  // namespace

Bus::Bus(sys::EventLoop& loop, ports::Journal& journal)
    : loop_(loop), journal_(journal), again_(loop.timer([this] { look_again(); })),
      back_off_(first_back_off) {}

void Bus::start() {
    connect();
}

void Bus::hurry() {
    if (!connected_ && failure_ < 0) {
        again_.arm(loop_.now());
    }
}

bool Bus::nobody_listens() const noexcept {
    if (connected_ || bus_ == nullptr) {
        return false;
    }
    // While sd-bus waits for the socket to be bound its descriptor is an inotify one; from the
    // connect on it is the socket itself, whether or not anyone answers.
    const int fd = sd_bus_get_fd(bus_.get());

    struct stat status {};

    return fd >= 0 && fstat(fd, &status) == 0 && !S_ISSOCK(status.st_mode);
}

std::string Bus::trouble() const {
    if (nobody_listens()) {
        return std::string("nobody listens at ") + address();
    }
    return failure_ < 0 ? std::strerror(-failure_) : "it does not answer";
}

void Bus::connect() {
    bus_.reset();
    failure_ = begin();
    if (failure_ < 0) {
        bus_.reset();
        announce();
    } else if (nobody_listens()) {
        announce();
    }
    // Armed in every case: the watch on the socket's directory can miss the instant between bind
    // and listen, and a bus that accepts but never answers may be stuck.
    again_.arm(loop_.now() + (failure_ < 0 ? back_off_ : longest_back_off));
    back_off_ = std::min(back_off_ * 2, longest_back_off);
}

/// What sd_bus_open_system(3) does, and that the socket may be bound later, and nothing at exit
/// that could block.
int Bus::begin() {
    sd_bus* bus = nullptr;
    int r = sd_bus_new(&bus);
    if (r < 0) {
        return r;
    }
    bus_.reset(bus);
    const auto tried = {
        sd_bus_set_address(bus, address()),
        sd_bus_set_bus_client(bus, 1),
        sd_bus_set_watch_bind(bus, 1),
        sd_bus_set_connected_signal(bus, 1),
        sd_bus_set_close_on_exit(bus, 0),
        sd_bus_match_signal(bus,
                            nullptr,
                            nullptr,
                            local_path,
                            local_interface,
                            "Connected",
                            deliver<Bus, &Bus::on_connected>,
                            this),
        sd_bus_match_signal(bus,
                            nullptr,
                            nullptr,
                            local_path,
                            local_interface,
                            "Disconnected",
                            deliver<Bus, &Bus::on_disconnected>,
                            this),
    };
    r = std::min(tried);
    if (r >= 0) {
        r = sd_bus_start(bus);
    }
    if (r >= 0) {
        r = sd_bus_attach_event(bus, loop_.raw(), SD_EVENT_PRIORITY_NORMAL);
    }
    return r;
}

void Bus::on_connected(sd_bus_message* /*message*/) {
    connected_ = true;
    back_off_ = first_back_off;
    again_.disarm();
    if (announced_) {
        announced_ = false;
        journal_.say(
            ports::Priority::notice, ports::Message::bus_trouble, "the system bus is there");
    }
    for (BusUser* const user : users_) {
        user->bus_connected(bus_.get());
    }
}

/// The connection object is dropped later, by look_again(): this is one of its own callbacks.
void Bus::on_disconnected(sd_bus_message* /*message*/) {
    const bool was_connected = connected_;
    connected_ = false;
    failure_ = -ECONNRESET;
    again_.arm(loop_.now() + back_off_);
    back_off_ = std::min(back_off_ * 2, longest_back_off);
    announce();
    if (was_connected) {
        for (BusUser* const user : users_) {
            user->bus_lost();
        }
    }
}

void Bus::look_again() {
    if (connected_) {
        return;
    }
    if (bus_ != nullptr && failure_ >= 0) {
        announce();
    }
    connect();
}

void Bus::announce() {
    if (announced_) {
        return;
    }
    announced_ = true;
    journal_.say(ports::Priority::warning,
                 ports::Message::bus_trouble,
                 "no connection to the system bus (" + trouble() +
                     "): waiting for it; is dbus.socket running?");
}

}  // namespace nightlatch::bus
