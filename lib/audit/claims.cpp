// SPDX-License-Identifier: MIT
#include "audit/claims.hpp"

#include "base/text.hpp"
#include "config/diagnostic.hpp"
#include "devicetree/chip_label.hpp"

#include <algorithm>

namespace nightlatch::audit {
namespace {

using devicetree::GpioLine;

void add_keys(const Scene& scene, const GpioLine& line, std::vector<Claim>& claims) {
    for (const devicetree::Key& key : scene.inventory.keys) {
        if (key.enabled && key.line && key.line->same_line(line)) {
            claims.push_back({ClaimKind::key,
                              key.node,
                              "the key " + in_quotes(key.label) + " (" + key_name(key.code) + ")"});
        }
    }
}

void add_leds(const Scene& scene, const GpioLine& line, std::vector<Claim>& claims) {
    for (const devicetree::Led& led : scene.inventory.leds) {
        if (led.enabled && led.line && led.line->same_line(line)) {
            claims.push_back({ClaimKind::led, led.node, "the LED " + in_quotes(led.name)});
        }
    }
}

void add_hogs(const Scene& scene, const GpioLine& line, std::vector<Claim>& claims) {
    for (const devicetree::Hog& hog : scene.inventory.hogs) {
        const bool holds_it =
            std::any_of(hog.lines.begin(), hog.lines.end(), [&](const GpioLine& held) {
                return held.same_line(line);
            });
        if (hog.enabled && holds_it) {
            claims.push_back({ClaimKind::hog,
                              hog.node,
                              "a gpio-hog" + (hog.level.empty() ? "" : " as " + hog.level)});
        }
    }
}

void add_others(const Scene& scene, const GpioLine& line, std::vector<Claim>& claims) {
    for (const devicetree::OtherUse& use : scene.inventory.others) {
        if (use.enabled && use.line.same_line(line)) {
            claims.push_back({ClaimKind::other, use.node, "the property " + use.property});
        }
    }
}

}  // namespace

std::vector<Claim> claims_on(const Scene& scene, const GpioLine& line) {
    std::vector<Claim> claims;
    add_keys(scene, line, claims);
    add_leds(scene, line, claims);
    add_hogs(scene, line, claims);
    add_others(scene, line, claims);
    return claims;
}

std::optional<GpioLine> in_tree(const PlacedLine& line) {
    if (line.controller == devicetree::no_node) {
        return std::nullopt;
    }
    return GpioLine{line.controller, line.offset, 0};
}

bool same_line(const PlacedLine& a, const PlacedLine& b) {
    if (a.offset != b.offset) {
        return false;
    }
    return (a.controller != devicetree::no_node && a.controller == b.controller) ||
           (!a.chip_name.empty() && a.chip_name == b.chip_name);
}

const lines::Line* live_line(const Scene& scene, const GpioLine& line) {
    if (!scene.facts->chips || scene.tree == nullptr) {
        return nullptr;
    }
    const lines::Line* found = nullptr;
    const std::string path = scene.tree->path_of(line.controller);
    for (const lines::Chip& chip : *scene.facts->chips) {
        if (chip.node != path || line.offset >= chip.lines.size()) {
            continue;
        }
        if (found != nullptr) {
            return nullptr;  // a bank each: whose offset this is, only the driver knows
        }
        found = &chip.lines[line.offset];
    }
    return found;
}

bool is_past_end(const Scene& scene, const GpioLine& line) {
    const auto count = devicetree::line_count(*scene.tree, line.controller);
    return count && line.offset >= *count;
}

std::string text_of(const PlacedLine& line) {
    return line.chip + " line " + std::to_string(line.offset) +
           (line.name.empty() ? "" : " (" + line.name + ")");
}

std::string key_name(std::uint32_t code) {
    // [linux include/uapi/linux/input-event-codes.h]
    switch (code) {
    case 116:
        return "KEY_POWER";
    case 142:
        return "KEY_SLEEP";
    case 205:
        return "KEY_SUSPEND";
    case 356:
        return "KEY_POWER2";
    case 408:
        return "KEY_RESTART";
    default:
        return "key code " + std::to_string(code);
    }
}

std::span<const bootfiles::Intent> boot_texts(const Scene& scene) {
    if (!scene.facts->boot) {
        return {};
    }
    return *scene.facts->boot;
}

std::vector<const bootfiles::OverlayUse*> boot_overlays(const Scene& scene) {
    std::vector<const bootfiles::OverlayUse*> uses;
    for (const bootfiles::Intent& intent : boot_texts(scene)) {
        for (const bootfiles::OverlayUse& use : intent.overlays) {
            uses.push_back(&use);
        }
    }
    return uses;
}

std::string config_place(const Scene& scene, std::string_view key) {
    return (scene.facts->config ? scene.facts->config->file : "the configuration") + ": " +
           std::string(key);
}

std::string missing_tree(const Scene& scene) {
    const std::string& why = scene.facts->tree.what_is_missing();
    return why.empty() ? "the device tree" : why;
}

std::string missing_config(const Scene& scene) {
    return scene.facts->config ? "a configuration that can be used (nightlatch check)"
                               : scene.facts->config.what_is_missing();
}

}  // namespace nightlatch::audit
