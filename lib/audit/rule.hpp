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

/// What a post-halt rule has to do with the verdict. Those that decide are those without which
/// nobody can say that the kernel will drive this line to this level for this long; the others need
/// what only root sees, and can at most find an error.
enum class Bearing : unsigned char {
    aside,    ///< an error contradicts; what it cannot tell changes nothing
    decides,  ///< an error contradicts; without an answer the verdict cannot be told
    exists,   ///< as `decides`, but an error means that there is no post-halt line
};

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
    Bearing bearing = Bearing::aside;
};

/// Each group's rules, in the order of the report.
std::span<const Rule> post_halt_rules();
std::span<const Rule> button_rules();
std::span<const Rule> cue_rules();
std::span<const Rule> service_rules();
std::span<const Rule> system_rules();
std::span<const Rule> boot_rules();

}  // namespace nightlatch::audit
