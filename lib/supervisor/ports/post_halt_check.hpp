// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "core/settings.hpp"

#include <string>

namespace nightlatch::ports {

struct PostHaltReport {
    core::Verdict verdict = core::Verdict::cannot_tell;
    std::string reason;  ///< one sentence: what decided it

    bool operator==(const PostHaltReport&) const = default;
};

/// Would the supply stay on after a power-off?
constexpr bool stays_on(const ports::PostHaltReport& report) noexcept {
    return report.verdict == core::Verdict::contradicted || report.verdict == core::Verdict::absent;
}

/// Looks whether the kernel is configured to raise the post-halt line as the configuration states.
/// One real side (the running kernel's device tree, chips and driver) and simulated ones.
struct PostHaltCheck {
    PostHaltCheck() = default;
    PostHaltCheck(const PostHaltCheck&) = delete;
    PostHaltCheck& operator=(const PostHaltCheck&) = delete;
    virtual ~PostHaltCheck() = default;

    /// Looks anew at each call; takes some milliseconds, and blocks for as long.
    virtual PostHaltReport look(const config::Settings& settings) = 0;
};

}  // namespace nightlatch::ports
