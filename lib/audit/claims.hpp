// SPDX-License-Identifier: MIT
#pragma once

#include "audit/scene.hpp"

#include <span>
#include <string>
#include <vector>

/// Who in the device tree names a line.
namespace nightlatch::audit {

enum class ClaimKind : unsigned char { key, led, hog, other };

struct Claim {
    ClaimKind kind{};
    devicetree::NodeId node = devicetree::no_node;
    std::string what;  ///< "the key \"lid\" (KEY_POWER)", "a gpio-hog", "its property reset-gpios"
};

/// Enabled nodes that name the line, post-halt nodes apart.
std::vector<Claim> claims_on(const Scene& scene, const devicetree::GpioLine& line);

/// The controller's line that a placed line is; nothing when the chip has no node.
std::optional<devicetree::GpioLine> in_tree(const PlacedLine& line);

/// Are both known to be one line, by node or by chip?
bool same_line(const PlacedLine& a, const PlacedLine& b);

/// What the kernel says of a controller's line now; null when it cannot be seen.
const lines::Line* live_line(const Scene& scene, const devicetree::GpioLine& line);

/// Is the offset beyond the controller's last line, as far as the tree says how many it has?
bool is_past_end(const Scene& scene, const devicetree::GpioLine& line);

/// "gpiochip0 [soc-gpio] line 3 (LID_BUTTON)".
std::string text_of(const PlacedLine& line);

/// "KEY_POWER"; "key code 30" for those that the login manager does not know.
std::string key_name(std::uint32_t code);

/// What the boot loader's texts ask for; none when they are not known.
std::span<const bootfiles::Intent> boot_texts(const Scene& scene);

/// Every overlay that they load, or would load elsewhere.
std::vector<const bootfiles::OverlayUse*> boot_overlays(const Scene& scene);

/// Where the configuration says something: "nightlatch.toml: button.line".
std::string config_place(const Scene& scene, std::string_view key);

/// Why the tree or the configuration cannot be gone by.
std::string missing_tree(const Scene& scene);
std::string missing_config(const Scene& scene);

}  // namespace nightlatch::audit
