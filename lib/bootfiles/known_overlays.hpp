// SPDX-License-Identifier: MIT
#pragma once

#include "bootfiles/draft.hpp"

/// What the firmware would keep to itself: its loader "will skip over missing overlays and bad
/// parameters" [raspberrypi/documentation, configuration/device-tree.adoc, Debugging], and a button
/// or a post-halt line then stays on its default pin [raspberrypi/firmware, issue 1661].
namespace nightlatch::bootfiles {

/// Is it a name that hardly any overlay has, one slip from the post-halt or the shutdown overlay?
void check_overlay_name(std::string_view name, const FileLine& place, Draft& draft);

/// Does an overlay that claims lines have such a parameter? Other overlays are not judged.
void check_parameter(std::string_view overlay, const Parameter& parameter, Draft& draft);

/// A parameter that only the post-halt or the shutdown overlay has, where no overlay is in scope.
void check_orphan(const Parameter& parameter, Draft& draft);

}  // namespace nightlatch::bootfiles
