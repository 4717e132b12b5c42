// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

#include <string>

/// Words to the service manager [sd_notify(3)]. Without $NOTIFY_SOCKET each is a no-op. None waits
/// for the manager, as libsystemd's own call would: what it does not take at once is lost.
///
/// The unit is Type=notify, for every systemd from 252 on: notify-reload came with 253, and 252
/// takes an unknown type for "simple". ExecReload= sends SIGHUP; RELOADING=1 and READY=1 bracket
/// the work, so that both show "reloading" meanwhile. MONOTONIC_USEC is what notify-reload would
/// want besides; 252 ignores it.
namespace nightlatch::sys {

/// READY=1 and STATUS=. Ends start-up, and also a reload. False: say it again, or the manager takes
/// us for hung.
[[nodiscard]] bool notify_ready(const std::string& status);
/// STATUS=, the line that `systemctl status` shows.
void notify_status(const std::string& status);
/// RELOADING=1 and MONOTONIC_USEC=; notify_ready() must follow, whether the reload worked or not.
void notify_reloading(Instant now);
/// STOPPING=1 and STATUS=.
void notify_stopping(const std::string& status);

}  // namespace nightlatch::sys
