// SPDX-License-Identifier: MIT
#pragma once

#include "config/reader.hpp"
#include "config/settings.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::config {

struct StageDraft {
    Place place;
    std::optional<Placed<std::string>> name;
    std::optional<Placed<Duration>> hold;
    std::optional<Placed<core::Action>> action;
};

/// A use of a line or an LED, for the rule that each has one.
struct OutputUse {
    LineName where;     ///< of an LED: its name in `line`, no chip
    std::string owner;  ///< "button"
    Place place;
    std::string key;  ///< "button.line"
};

/// What was read of a configuration, with places, before the rules that look at several values at
/// once. A value is there when it was read or has its default; not when it was wrong, and a rule
/// about it is then left out.
struct Draft {
    std::optional<Placed<bool>> pressed_low;
    std::optional<Placed<Bias>> bias;
    std::optional<Placed<Duration>> press;
    std::optional<Placed<Duration>> release;
    std::optional<Placed<Duration>> stuck_after;
    std::optional<Placed<core::ActOn>> act_on;
    std::optional<std::vector<StageDraft>> stages;
    std::optional<Placed<Duration>> grace;
    std::optional<Placed<core::Inhibitors>> inhibitors;
    std::optional<Placed<core::WithoutPostHalt>> without_post_halt;
    LineName button_line;
    PostHalt post_halt;
    std::vector<Feedback> feedback;
    std::optional<CircuitSection> circuit;
    std::vector<OutputUse> uses;
};

/// The rules that look at more than one value.
void check_contradictions(const Draft& draft, Reader& reader);

}  // namespace nightlatch::config
