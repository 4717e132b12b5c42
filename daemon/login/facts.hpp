// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

#include <string_view>

namespace nightlatch::login {

/// What the system bus says to an audit.
struct BusAnswers {
    Known<audit::LoginFacts> login;  ///< missing as a whole without a login manager
    audit::ServiceManagerFacts manager;
};

/// Asks the login manager [org.freedesktop.login1(5)], the service manager
/// [org.freedesktop.systemd1(5)] and polkit, one after the other: waits, at most 2 s for each
/// answer. What polkit lets the service's account do is asked of the running service: root alone
/// may ask that of another's process [polkit's D-Bus reference, CheckAuthorization()].
BusAnswers read_bus_answers();

/// When a process began, in the kernel's ticks: field 22 of its stat [proc(5)]; 0 when it is not
/// there. The name before it may hold anything, brackets and blanks too.
std::uint64_t start_of_process(std::string_view stat);

}  // namespace nightlatch::login
