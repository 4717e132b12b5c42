// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/ports/power.hpp"

#include <cstddef>
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

/// The first of them, as it is published; nothing where there is none.
std::optional<ports::Blocker> blocker_of(const std::optional<std::vector<Lock>>& locks);

/// Bytes of another program's words that are shown; more would be no line.
inline constexpr std::size_t longest_text = 160;

}  // namespace nightlatch::login
