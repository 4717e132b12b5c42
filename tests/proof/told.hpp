// SPDX-License-Identifier: MIT
#pragma once

#include "core/action.hpp"
#include "core/input.hpp"
#include "core/settings.hpp"

#include <cstdint>
#include <string>
#include <vector>

namespace nightlatch::proof {

// In the words of a test, stamps since `origin` in ticks of 1 ns.
std::string told_feed(const core::Input& input, Instant origin);
std::string told_advance(Instant now, Instant origin);
std::string told_action(const core::ActionOut& action, Instant origin);

/// The settings that a counter-example holds with, in ticks of 1 ns; what is scaled among them.
std::vector<std::string> told_settings(const core::Settings& settings);

/// An action as bytes that can be compared; requests and questions count from these.
void write_deed(const core::ActionOut& action,
                Instant now,
                std::uint32_t request,
                std::uint32_t question,
                std::vector<std::uint8_t>& to);

}  // namespace nightlatch::proof
