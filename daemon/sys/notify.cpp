// SPDX-License-Identifier: MIT
#include "daemon/sys/notify.hpp"

#include "base/text.hpp"

#include <systemd/sd-daemon.h>

namespace nightlatch::sys {

namespace {

/// A failure to notify cannot be helped and hurts nobody but the display: it is dropped here.
void send(const std::string& message) {
    static_cast<void>(sd_notify(0, message.c_str()));
}

/// A status is one line: a line break inside it would start a field of its own.
std::string status_field(const std::string& status) {
    return "STATUS=" + safe(status);
}

}  // namespace

void notify_ready(const std::string& status) {
    send("READY=1\n" + status_field(status));
}

void notify_status(const std::string& status) {
    send(status_field(status));
}

void notify_reloading(Instant now) {
    const auto us = std::chrono::duration_cast<std::chrono::microseconds>(now.time_since_epoch());
    send("RELOADING=1\nMONOTONIC_USEC=" + std::to_string(us.count()));
}

void notify_stopping(const std::string& status) {
    send("STOPPING=1\n" + status_field(status));
}

}  // namespace nightlatch::sys
