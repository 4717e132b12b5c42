// SPDX-License-Identifier: MIT
#pragma once

#include "audit/scene.hpp"
#include "devicetree/pads.hpp"

#include <string>

/// What a node on a line has to say of the line's pad.
namespace nightlatch::audit {

/// Text to add to an overlay so that the pad is GPIO.
struct PadText {
    bool needed = false;   ///< a request of the line leaves the pad as it is
    std::string fragment;  ///< with the group below the pin controller; empty: cannot be given
    std::string node;      ///< the node's lines that name the group, without indentation
    std::string words;     ///< what to add, where the text cannot be given
};

PadText pad_text(const Scene& scene, const devicetree::GpioLine& line);

}  // namespace nightlatch::audit
