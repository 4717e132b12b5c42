// SPDX-License-Identifier: MIT
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

struct sd_bus_message;

namespace nightlatch::login {

/// One entry of the login manager's list [org.freedesktop.login1(5), ListInhibitors()].
struct Lock {
    std::string what;  ///< "shutdown:sleep"
    std::string who;
    std::string why;
    std::string mode;  ///< "block", "block-weak", "delay"
    std::uint32_t uid = 0;
    std::uint32_t pid = 0;
};

/// Does it keep others from shutting down, rather than only hold the shutdown up for a while?
bool blocks_shutdown(const Lock& lock);

/// The list in the reply to ListInhibitors(); nothing if the reply is an error.
std::optional<std::vector<Lock>> all_locks(sd_bus_message* reply);

/// Those of the list in the reply that block a shutdown; nothing if the reply is an error.
std::optional<std::vector<Lock>> blocking_locks(sd_bus_message* reply);

/// `"tide recorder" (uid 1000, pid 4242): "copying the day's record"`, the first few of them.
std::string text_of(const std::vector<Lock>& locks);

/// What another program wrote, fit for a line of a log or a terminal: without control characters,
/// and not longer than a line.
std::string one_line(std::string_view foreign);

}  // namespace nightlatch::login
