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

/// How much of the machine a look takes in anew; the rest is as it was at the look before.
enum class LookAt : unsigned char {
    all,    ///< the device tree, too: at start and reload. Blocks for as long as that takes, a
            ///< tenth of a second and more, so never between a press and what comes of it
    chips,  ///< chips came or went: which there are, and what the driver is bound to
    line,   ///< what the driver is bound to, and who holds the line: three files, below 1 ms
};

/// Looks whether the kernel is configured to raise the post-halt line as the configuration states.
/// One real side (the running kernel's device tree, chips and driver) and simulated ones.
struct PostHaltCheck {
    PostHaltCheck() = default;
    PostHaltCheck(const PostHaltCheck&) = delete;
    PostHaltCheck& operator=(const PostHaltCheck&) = delete;
    virtual ~PostHaltCheck() = default;

    /// The first look is at `all`, and so is the first with other settings.
    virtual PostHaltReport look(const config::Settings& settings, LookAt what) = 0;
};

}  // namespace nightlatch::ports
