// SPDX-License-Identifier: MIT
#pragma once

#include "core/settings.hpp"
#include "daemon/login/locks.hpp"

#include <optional>
#include <string>
#include <vector>

struct sd_bus_message;

namespace nightlatch::login {

// Sentences for people, each with its remedy. Clauses without a stop: the service puts "the request
// was refused: " before a refusal.

constexpr const char* operation_in_progress = "org.freedesktop.login1.OperationInProgress";

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

std::string no_delay_lock_text(sd_bus_message* reply);

/// `respect` is configured, yet polkit would let us pass other programs' locks.
std::string too_much_allowed_text(core::Action action);

}  // namespace nightlatch::login
