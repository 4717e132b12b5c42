// SPDX-License-Identifier: MIT
#pragma once

#include "bootfiles/intent.hpp"
#include "daemon/facts/files.hpp"

namespace nightlatch::facts {

/// Looks for the file of each overlay that the text loads, where its loader would, and into it:
/// does it add a post-halt node, whatever it is called?
void look_for_overlays(const std::string& root, bootfiles::Intent& intent, Budget& budget);

/// The first post-halt node that an overlay's blob adds or changes; nothing when there is none, or
/// these bytes are no blob.
std::optional<bootfiles::PostHaltSeen> post_halt_in_overlay(std::string_view blob);

}  // namespace nightlatch::facts
