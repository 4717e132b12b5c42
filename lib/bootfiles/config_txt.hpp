// SPDX-License-Identifier: MIT
#pragma once

#include "bootfiles/intent.hpp"

#include <functional>
#include <optional>

namespace nightlatch::bootfiles {

/// Text of a file that the text includes, by the name that stands there; nothing when it is not
/// there.
using IncludedFile = std::function<std::optional<std::string>(std::string_view name)>;

/// The firmware's config.txt: sections, includes, dtoverlay and dtparam with their scope, `gpio=`,
/// and the line's end after 98 characters [raspberrypi/documentation, config_txt:
/// what_is_config_txt, conditional, gpio, common; configuration/device-tree]. Any bytes are safe.
///
/// `compatible`: the root node's, of the board that the text is for; with none every section for a
/// model depends. What a boot loader could see and the text cannot tell (a line's level, a display,
/// a serial number, a section this reader does not know) depends, with the section as its
/// condition.
Intent read_config_txt(std::string_view file,
                       std::string_view text,
                       const std::vector<std::string>& compatible,
                       const IncludedFile& included);

}  // namespace nightlatch::bootfiles
