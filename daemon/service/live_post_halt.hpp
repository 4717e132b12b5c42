// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/ports/post_halt_check.hpp"

namespace nightlatch::service {

/// Looks at the running kernel: its device tree, GPIO chips, post-halt driver and version: what the
/// service's own account can see, and no more than the post-halt rules need.
class LivePostHalt final : public ports::PostHaltCheck {
public:
    ports::PostHaltReport look(const config::Settings& settings) override;
};

}  // namespace nightlatch::service
