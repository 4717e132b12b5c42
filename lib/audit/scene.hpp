// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"
#include "audit/needed_pulse.hpp"
#include "audit/ways_off.hpp"
#include "devicetree/inventory.hpp"

#include <string>
#include <vector>

namespace nightlatch::audit {

/// A line that the configuration names, found among chips and controllers.
struct PlacedLine {
    std::string chip;       ///< "gpiochip0 [soc-gpio]" or the controller's path: for people
    std::string chip_name;  ///< "gpiochip0"; empty without live chips
    devicetree::NodeId controller = devicetree::no_node;  ///< no_node: the chip has no node
    unsigned offset = 0;
    std::string name;                   ///< the line's own; may be empty
    const lines::Line* live = nullptr;  ///< what the kernel says of it now; null without live chips
    bool sleeps = false;
};

/// A line that the service reads: the button's or an alarm's.
struct InputLine {
    std::string what;      ///< in a sentence: "the button's line", "the line of the alarm \"hot\""
    const char* key = "";  ///< "button": the section that names it
    lines::Bias bias{};    ///< as the configuration has it
    bool active_low = false;
    Known<PlacedLine> placed;  ///< or why it is not known where it is
};

/// The facts, and what every rule wants to know of them, worked out once: one pass over the tree.
struct Scene {
    const Facts* facts = nullptr;
    const config::Settings* settings = nullptr;  ///< null when the configuration cannot be used
    const devicetree::Tree* tree = nullptr;      ///< null when there is none
    devicetree::Inventory inventory;             ///< empty without a tree

    /// Where the configuration's lines are; `what_is_missing()` says why not (no such chip, a name
    /// that several lines have, nothing stated).
    Known<PlacedLine> button;
    std::vector<InputLine> inputs;  ///< the button's, then the alarms'; none without settings
    Known<PlacedLine> post_halt;    ///< [post_halt].chip and .line
    Known<NeededPulse> pulse;
    /// The one enabled post-halt node; null when there is none or more than one.
    const devicetree::PostHaltNode* node = nullptr;
    std::vector<WayOff> ways_off;  ///< in the kernel's order
};

/// `facts` must outlive the scene.
Scene make_scene(const Facts& facts);

/// By live chips when there are any (lines::find_chip); else by the tree: a line's name that one
/// controller has, a chip's name that ends a controller's path or is one.
Known<PlacedLine> place_line(const Scene& scene, const lines::LineName& where);

/// "/pl061@9030000 line 6 (SUPPLY_RELEASE)".
std::string text_of(const Scene& scene, const devicetree::GpioLine& line);

}  // namespace nightlatch::audit
