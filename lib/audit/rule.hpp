// SPDX-License-Identifier: MIT
#pragma once

#include "audit/finding.hpp"
#include "audit/scene.hpp"

#include <span>
#include <string_view>

namespace nightlatch::audit {

enum class Group : unsigned char {
    post_halt,  ///< the few that make the verdict; the service runs these too
    button,
    cues,
    service,
    system,
    boot,
};

std::string_view text_of(Group group) noexcept;

/// A rule: data, and a small pure function. Its id is what people type and what JSON carries: it
/// never changes.
struct Rule {
    std::string_view id;  ///< "post-halt-polarity"
    Group group{};
    /// What it promises when it passes: "The line's polarity is as the circuit expects".
    std::string_view title;
    std::string_view rationale;  ///< why it matters, with its source; a paragraph
    /// Rules that must have passed, or this one has nothing to judge: not applicable then.
    std::span<const std::string_view> needs;
    Judgement (*judge)(const Scene& scene);
};

/// Each group's rules, in the order of the report.
std::span<const Rule> post_halt_rules();
std::span<const Rule> button_rules();
std::span<const Rule> cue_rules();
std::span<const Rule> service_rules();
std::span<const Rule> system_rules();
std::span<const Rule> boot_rules();

}  // namespace nightlatch::audit
