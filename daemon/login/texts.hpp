// SPDX-License-Identifier: MIT
#pragma once

#include "core/input.hpp"
#include "core/settings.hpp"
#include "daemon/login/locks.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

struct sd_bus_message;

namespace nightlatch::login {

// Sentences for people, each with its remedy. Clauses without a stop: the service puts "the request
// was refused: " before a refusal.

constexpr const char* operation_in_progress = "org.freedesktop.login1.OperationInProgress";

constexpr const char* went_away =
    "the login manager went away before it was asked; nothing was asked, try again";

/// An error reply's own words and name.
std::string words_of(sd_bus_message* reply);

/// "power off" or "reboot".
std::string verb_of(core::Action action);

std::string blocked_text(const std::vector<Lock>& locks);

/// An error reply, kept until the list of locks has been read.
struct Refusal {
    std::string name;
    std::string words;
};

/// What a refusal meant. `locks` is the list read after it, nothing if it could not be read: who
/// blocks is read there, never guessed from the error's name, which differs by version.
std::string refusal_text(const Refusal& refusal,
                         core::Inhibitors inhibitors,
                         const std::optional<std::vector<Lock>>& locks);

/// "Operation in progress", and what the manager then said of a shutdown.
std::string in_progress_text(core::BeingPrepared shutdown, const Refusal& refusal);

/// CanPowerOff()'s word for a machine that does not have it [org.freedesktop.login1(5)].
constexpr std::string_view cannot_at_all = "na";

/// A dry run: the manager's word for why it would not.
std::string no_leave_text(std::string_view word,
                          core::Inhibitors inhibitors,
                          const std::optional<std::vector<Lock>>& locks);

std::string no_delay_lock_text(sd_bus_message* reply);

/// All of the configuration respects locks, yet polkit would let us pass other programs'.
std::string too_much_allowed_text(core::Action action);

}  // namespace nightlatch::login
