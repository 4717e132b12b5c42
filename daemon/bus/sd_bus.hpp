// SPDX-License-Identifier: MIT
#pragma once

// For the adapters on the bus only: the one place that includes sd-bus.

#include "base/handle.hpp"

#include <cstdint>
#include <string>
#include <string_view>

#include <systemd/sd-bus.h>

namespace nightlatch::bus {

using BusHandle = Handle<sd_bus, sd_bus_close_unref>;
/// A pending call or a subscription: dropping it takes it back, a late reply then goes nowhere.
using Slot = Handle<sd_bus_slot, sd_bus_slot_unref>;
using MessageHandle = Handle<sd_bus_message, sd_bus_message_unref>;

constexpr const char* bus_name = "org.freedesktop.DBus";

/// No limit, where the caller has its own or wants none; 0 would mean sd-bus's 25 s
/// [sd_bus_call_async(3)].
constexpr std::uint64_t no_time_out = UINT64_MAX;

/// Calls a member function from C.
template <class T, void (T::*Method)(sd_bus_message*)>
int deliver(sd_bus_message* message, void* self, sd_bus_error* /*error*/) noexcept {
    (static_cast<T*>(self)->*Method)(message);
    return 0;
}

/// Who gets the reply.
struct Receiver {
    sd_bus_message_handler_t handler;
    void* self;
};

template <class T, void (T::*Method)(sd_bus_message*)>
Receiver to(T* self) {
    return {deliver<T, Method>, self};
}

/// Sends; the reply, or error reply, comes to the receiver later. An empty slot: it was not sent.
inline Slot send(sd_bus* bus, const MessageHandle& message, const Receiver& receiver) {
    sd_bus_slot* slot = nullptr;
    if (bus == nullptr || message == nullptr ||
        sd_bus_call_async(bus, &slot, message.get(), receiver.handler, receiver.self, no_time_out) <
            0) {
        return {};
    }
    return Slot{slot};
}

/// An error reply's name, empty for a plain reply.
inline std::string error_name(sd_bus_message* reply) {
    const sd_bus_error* error = sd_bus_message_get_error(reply);
    return error != nullptr && error->name != nullptr ? error->name : "";
}

/// "No answer", in the words of the bus or of sd-bus: the other side, or the connection, ended, or
/// a limit of the bus ran out. It says nothing about what becomes of the call.
inline bool is_no_answer(std::string_view name) {
    return name == "org.freedesktop.DBus.Error.NoReply" ||
           name == "org.freedesktop.DBus.Error.Timeout" ||
           name == "org.freedesktop.DBus.Error.TimedOut" ||
           name == "org.freedesktop.DBus.Error.Disconnected";
}

}  // namespace nightlatch::bus
