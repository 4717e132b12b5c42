// SPDX-License-Identifier: MIT
#include "daemon/sys/notify.hpp"

#include "base/text.hpp"
#include "daemon/sys/datagram.hpp"

#include <cstdlib>

namespace nightlatch::sys {

namespace {

bool send(const std::string& message) {
    const char* const manager = std::getenv("NOTIFY_SOCKET");
    return manager == nullptr || Datagrams{manager}.send(message);
}

/// A failure hurts nobody but the display: it is dropped here.
void send_if_possible(const std::string& message) {
    static_cast<void>(send(message));
}

/// A status is one line: a line break inside it would start a field of its own.
std::string status_field(const std::string& status) {
    return "STATUS=" + safe(status);
}

}  // namespace

bool notify_ready(const std::string& status) {
    return send("READY=1\n" + status_field(status));
}

void notify_status(const std::string& status) {
    send_if_possible(status_field(status));
}

void notify_reloading(Instant now) {
    const auto us = std::chrono::duration_cast<std::chrono::microseconds>(now.time_since_epoch());
    send_if_possible("RELOADING=1\nMONOTONIC_USEC=" + std::to_string(us.count()));
}

void notify_stopping(const std::string& status) {
    send_if_possible("STOPPING=1\n" + status_field(status));
}

}  // namespace nightlatch::sys
