// SPDX-License-Identifier: MIT
#pragma once

#include "audit/scene.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

/// Text to paste, for this board: the line of its boot loader's file where that has one, else an
/// overlay's source that dtc compiles and any loader applies, and where to put it.
namespace nightlatch::audit {

/// A post-halt node as [post_halt] describes it.
struct PostHaltPlan {
    devicetree::GpioLine line;
    std::optional<unsigned> active_ms;  ///< nothing: the driver's 100 ms
};

/// Nothing when [post_halt] does not say enough, or its line is not in the tree (why_no_plan).
std::optional<PostHaltPlan> plan_from(const Scene& scene);

/// For a missing node (`existing` null) or one that is not as [post_halt] says.
std::string post_halt_remedy(const Scene& scene, const devicetree::PostHaltNode* existing);

/// For a node that is there, and whose line's pad nothing sets to GPIO.
std::string pad_remedy(const Scene& scene, const devicetree::PostHaltNode& node);

/// An overlay that sets properties of a node that is there: lines like `status = "okay";`.
std::string change_remedy(const Scene& scene,
                          devicetree::NodeId node,
                          const std::vector<std::string>& properties);

/// A string of a device tree's source [Devicetree Specification 0.4, 6.4: as in C]. A name may hold
/// quotation marks, and must not end it.
std::string dts_string(std::string_view text);

// The sources alone, for tests that compile them.
std::string post_halt_overlay(const Scene& scene,
                              const PostHaltPlan& plan,
                              const devicetree::PostHaltNode* existing);
std::string change_overlay(const Scene& scene,
                           devicetree::NodeId node,
                           const std::vector<std::string>& properties);

}  // namespace nightlatch::audit
