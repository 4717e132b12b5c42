// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"
#include "daemon/gpio/gpiod.hpp"
#include "supervisor/ports/post_halt_check.hpp"

#include <string>

namespace nightlatch::service {

/// Looks at the running kernel: its device tree, GPIO chips, post-halt driver and version: what the
/// service's own account can see, and no more than the post-halt rules need.
///
/// Of the tree the few nodes that matter are kept. An overlay that is applied while the kernel runs
/// changes it: that is seen at the next reload, and of what it does to the line, the driver's
/// letting go and another holder are seen at every look.
class LivePostHalt final : public ports::PostHaltCheck {
public:
    /// Other places than the machine's own only in tests.
    explicit LivePostHalt(std::string root = "", gpio::Places places = {});

    ports::PostHaltReport look(const config::Settings& settings, ports::LookAt what) override;

private:
    void read_tree(const config::Settings& settings);
    void look_at_chips();
    void look_at_line();

    std::string root_;
    gpio::Places places_;
    audit::Facts facts_;
    std::string device_;  ///< of the post-halt line's chip; empty: none that is known
};

}  // namespace nightlatch::service
