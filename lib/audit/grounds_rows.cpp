// SPDX-License-Identifier: MIT
// What `audit --save` keeps, a row each. Of /chosen nothing: it differs at every boot, and holds
// seeds and serial numbers. No device's number either ("gpiochip0"): the kernel counts them anew.
#include "audit/boot_rules.hpp"
#include "audit/claims.hpp"
#include "audit/grounds.hpp"
#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "devicetree/chip_label.hpp"
#include "devicetree/pads.hpp"
#include "devicetree/values.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::audit {
namespace {

using Fact = Known<std::string>;

constexpr const char* none = "none";

Fact joined(std::vector<std::string> all) {
    std::sort(all.begin(), all.end());
    std::string text;
    for (const std::string& one : all) {
        text += (text.empty() ? "" : ", ") + safe(one);
    }
    return text.empty() ? none : text;
}

Fact joined(const Known<std::vector<std::string>>& all) {
    return all ? joined(*all) : Fact::missing(all.what_is_missing());
}

Fact word(const Known<bool>& fact) {
    return fact ? Fact(*fact ? "yes" : "no") : Fact::missing(fact.what_is_missing());
}

std::string level(bool active_low) {
    return active_low ? "low" : "high";
}

// The board.

Fact of_board(const Scene& scene, const std::string& what) {
    if (scene.tree == nullptr) {
        return Fact::missing(scene.facts->tree.what_is_missing());
    }
    return what.empty() ? none : what;
}

Fact board_model(const Scene& scene) {
    return of_board(scene, scene.inventory.model);
}

Fact board_compatible(const Scene& scene) {
    const std::vector<std::string>& names = scene.inventory.compatible;
    return of_board(scene, names.empty() ? "" : names.front());
}

Fact board_psci(const Scene& scene) {
    return of_board(scene, scene.inventory.psci);
}

/// A chip that takes part in power-off by the tree's word.
Fact board_controllers(const Scene& scene) {
    std::vector<std::string> all;
    for (const devicetree::PowerController& chip : scene.inventory.power_controllers) {
        if (chip.enabled) {
            all.push_back(scene.tree->path_of(chip.node) + " " + chip.compatible);
        }
    }
    return scene.tree == nullptr ? of_board(scene, "") : joined(std::move(all));
}

// The boot loader's text.

std::string condition_of(const bootfiles::OverlayUse& use) {
    return use.certainty == bootfiles::Certainty::yes  ? ""
           : use.certainty == bootfiles::Certainty::no ? " (does not apply)"
                                                       : " (if " + use.condition + ")";
}

Fact boot_post_halt(const Scene& scene) {
    if (!scene.facts->boot) {
        return Fact::missing(scene.facts->boot.what_is_missing());
    }
    std::vector<std::string> all;
    for (const LoadedOverlay& loaded : all_overlays(scene)) {
        if (is_post_halt_overlay(*loaded.use)) {
            all.push_back(text_of(*loaded.use) + condition_of(*loaded.use));
        }
    }
    return joined(std::move(all));
}

// The configuration.

Fact of_settings(const Scene& scene, std::string (*what)(const config::Settings& settings)) {
    if (scene.settings == nullptr) {
        return Fact::missing(scene.post_halt.what_is_missing());
    }
    const std::string text = what(*scene.settings);
    return text.empty() ? "not stated" : text;
}

std::string text_of(const lines::LineName& where) {
    return in_quotes(where.chip) + " " + in_quotes(where.line);
}

Fact config_button(const Scene& scene) {
    return of_settings(scene, [](const config::Settings& settings) {
        return text_of(settings.button.where) + ", pressed = " + level(settings.button.active_low);
    });
}

Fact config_post_halt(const Scene& scene) {
    return of_settings(scene, [](const config::Settings& settings) {
        return settings.post_halt.where ? text_of(*settings.post_halt.where) : "";
    });
}

Fact config_active(const Scene& scene) {
    return of_settings(scene, [](const config::Settings& settings) {
        const std::optional<bool>& low = settings.post_halt.active_low;
        return low ? level(*low) : "";
    });
}

Fact config_circuit(const Scene& scene) {
    if (scene.settings == nullptr) {
        return Fact::missing(scene.post_halt.what_is_missing());
    }
    std::vector<std::string> all;
    if (const std::optional<config::CircuitSection>& circuit = scene.settings->circuit) {
        for (const config::CircuitText& part : circuit->texts) {
            all.push_back(part.key + " = " + part.text);
        }
    }
    return joined(std::move(all));
}

Fact config_pulse(const Scene& scene) {
    if (!scene.pulse) {
        return Fact::missing(scene.pulse.what_is_missing());
    }
    return scene.pulse->none_at_worst ? "none is long enough"
                                      : nightlatch::to_text(scene.pulse->pulse);
}

// Where the lines are: what a chip is called may change, its node does not.

Fact place_of(const Scene& scene, const Known<PlacedLine>& line) {
    if (!line) {
        return Fact::missing(line.what_is_missing());
    }
    const bool in_tree = scene.tree != nullptr && line->controller != devicetree::no_node;
    const std::string chip = in_tree ? scene.tree->path_of(line->controller) : line->chip;
    return chip + " line " + std::to_string(line->offset);
}

Fact post_halt_pad(const Scene& scene) {
    if (!scene.post_halt || !scene.facts->chips) {
        return Fact::missing("which pad the line is on");
    }
    const auto& chips = *scene.facts->chips;
    const auto chip = std::find_if(chips.begin(), chips.end(), [&](const lines::Chip& one) {
        return one.name == scene.post_halt->chip_name;
    });
    if (chip == chips.end()) {
        return Fact::missing("the line's chip");
    }
    const lines::PinUse use = lines::pin_use(scene.facts->pins, *chip, scene.post_halt->offset);
    if (use.now == lines::PinNow::unknown) {
        return Fact::missing(use.what);
    }
    if (use.now == lines::PinNow::other) {
        return use.what;
    }
    // Where a line and a function may share a pin, whoever muxed it last has it.
    const lines::Pin* const pin = lines::pin_of(*scene.facts->pins, *chip, scene.post_halt->offset);
    return pin == nullptr || pin->mux_owner.empty() ? "GPIO" : "GPIO, and " + safe(pin->mux_owner);
}

// The kernel and its driver.

Fact kernel_release(const Scene& scene) {
    const Known<KernelVersion>& kernel = scene.facts->kernel;
    return kernel ? Fact(kernel->release) : Fact::missing(kernel.what_is_missing());
}

/// In the kernel's order. What takes no part is left out.
Fact kernel_ways_off(const Scene& scene) {
    if (scene.tree == nullptr) {
        return Fact::missing(scene.facts->tree.what_is_missing());
    }
    std::string text;
    for (const WayOff& way : scene.ways_off) {
        if (way.turn != Turn::never) {
            text += (text.empty() ? "" : ", ") + safe(way.place.empty() ? way.what : way.place) +
                    " (" + std::string(text_of(way.turn)) + ")";
        }
    }
    return text.empty() ? none : text;
}

Fact kernel_build(const Scene& scene) {
    const Known<KernelVersion>& kernel = scene.facts->kernel;
    if (!kernel || kernel->build.empty()) {
        return Fact::missing(kernel ? "when the kernel was built" : kernel.what_is_missing());
    }
    return kernel->build;
}

Fact driver_configured(const Scene& scene) {
    const Known<Built>& built = scene.facts->driver.configured;
    if (!built) {
        return Fact::missing(built.what_is_missing());
    }
    if (*built == Built::out) {
        return std::string("left out");
    }
    return std::string(*built == Built::in ? "built in" : "a module");
}

Fact driver_registered(const Scene& scene) {
    return word(scene.facts->driver.registered);
}

Fact driver_bound(const Scene& scene) {
    return joined(scene.facts->driver.bound);
}

// The post-halt node.

using Node = devicetree::PostHaltNode;

Fact of_node(const Scene& scene, std::string (*what)(const Scene& scene, const Node& node)) {
    if (scene.tree == nullptr) {
        return Fact::missing(scene.facts->tree.what_is_missing());
    }
    return scene.node == nullptr ? none : what(scene, *scene.node);
}

Fact node_all(const Scene& scene) {
    std::vector<std::string> all;
    for (const Node& node : scene.inventory.post_halt) {
        all.push_back(scene.tree->path_of(node.node) + (node.enabled ? "" : " (disabled)"));
    }
    return scene.tree == nullptr ? of_board(scene, "") : joined(std::move(all));
}

Fact node_line(const Scene& scene) {
    return of_node(scene, [](const Scene& s, const Node& node) {
        return node.line ? s.tree->path_of(node.line->controller) + " line " +
                               std::to_string(node.line->offset)
                         : node.line.error();
    });
}

Fact node_controller(const Scene& scene) {
    return of_node(scene, [](const Scene& s, const Node& node) {
        const auto* const value =
            node.line ? s.tree->value(node.line->controller, "compatible") : nullptr;
        return value == nullptr ? std::string(none) : *joined(devicetree::strings_of(*value));
    });
}

Fact node_flags(const Scene& scene) {
    return of_node(scene, [](const Scene&, const Node& node) {
        return node.line ? std::to_string(node.line->flags) : std::string(none);
    });
}

Fact node_delays(const Scene& scene) {
    return of_node(scene, [](const Scene&, const Node& node) {
        return std::to_string(node.active_ms) + " ms active, " + std::to_string(node.inactive_ms) +
               " ms inactive, " + std::to_string(node.timeout_ms) + " ms";
    });
}

Fact node_input(const Scene& scene) {
    return of_node(scene, [](const Scene&, const Node& node) {
        return std::string(node.input ? "yes" : "no");
    });
}

Fact node_priority(const Scene& scene) {
    return of_node(scene, [](const Scene&, const Node& node) {
        return node.priority ? std::to_string(*node.priority) : std::string("not stated");
    });
}

Fact node_lines(const Scene& scene) {
    return of_node(scene, [](const Scene& s, const Node& node) {
        const auto count =
            node.line ? devicetree::line_count(*s.tree, node.line->controller) : std::nullopt;
        return count ? std::to_string(*count) : std::string("not stated");
    });
}

Fact node_pad(const Scene& scene) {
    return of_node(scene, [](const Scene& s, const Node& node) {
        if (!node.line) {
            return std::string(none);
        }
        const devicetree::Pad pad = devicetree::pad_of(*s.tree, *node.line);
        std::vector<std::string> all;
        for (const devicetree::PadSetting& setting : pad.settings) {
            all.push_back(s.tree->path_of(setting.user) + ": " + setting.row.function);
        }
        return *joined(std::move(all)) +
               (pad.request_switches ? "" : ", and a request leaves it so");
    });
}

Fact node_others(const Scene& scene) {
    if (scene.tree == nullptr || !scene.post_halt) {
        return Fact::missing(scene.tree == nullptr ? scene.facts->tree.what_is_missing()
                                                   : scene.post_halt.what_is_missing());
    }
    const auto line = in_tree(*scene.post_halt);
    std::vector<std::string> all;
    for (const Claim& claim : line ? claims_on(scene, *line) : std::vector<Claim>{}) {
        all.push_back(scene.tree->path_of(claim.node) + ": " + claim.what);
    }
    return joined(std::move(all));
}

constexpr std::array rows{
    GroundsRow{"board.compatible", true, "This is another board.", board_compatible},
    GroundsRow{"board.model", false, "The board calls itself otherwise.", board_model},
    GroundsRow{"board.power-chips",
               true,
               "Another chip takes part in power-off, or none does any more.",
               board_controllers},
    GroundsRow{"board.psci", true, "The firmware offers another way off.", board_psci},
    GroundsRow{"boot.post-halt",
               true,
               "The boot loader's text asks for another post-halt node; the next boot goes by it.",
               boot_post_halt},
    GroundsRow{"button.line",
               true,
               "The button is read on another line.",
               [](const Scene& s) { return place_of(s, s.button); }},
    GroundsRow{"config.button", true, "The configuration names another button.", config_button},
    GroundsRow{"config.circuit", true, "The circuit has other parts.", config_circuit},
    GroundsRow{"config.post-halt",
               true,
               "The configuration names another post-halt line.",
               config_post_halt},
    GroundsRow{
        "config.post-halt-active", true, "The configuration expects another level.", config_active},
    GroundsRow{"config.pulse", true, "The circuit needs another pulse.", config_pulse},
    GroundsRow{"driver.bound", true, "The driver has another node, or none.", driver_bound},
    GroundsRow{"driver.configured",
               true,
               "The kernel has the driver in another way, or not at all.",
               driver_configured},
    GroundsRow{"driver.registered", true, "The driver has come, or has gone.", driver_registered},
    GroundsRow{"kernel.build", true, "The kernel was built anew.", kernel_build},
    GroundsRow{"kernel.release",
               true,
               "Another kernel runs: what was seen of a disconnect was seen with the former.",
               kernel_release},
    GroundsRow{"kernel.ways-off",
               true,
               "Something else may switch off before the post-halt line, or follow it.",
               kernel_ways_off},
    GroundsRow{"node.all", true, "There are other post-halt nodes.", node_all},
    GroundsRow{"node.controller", true, "The line is on a chip of another kind.", node_controller},
    GroundsRow{"node.delays", true, "The levels come at other times.", node_delays},
    GroundsRow{"node.flags", true, "The line is driven to another level.", node_flags},
    GroundsRow{
        "node.input", true, "Until the halt the line is left alone, or no more.", node_input},
    GroundsRow{"node.line", true, "The kernel drives another line.", node_line},
    GroundsRow{"node.lines", true, "The line's controller has more lines, or fewer.", node_lines},
    GroundsRow{"node.pad", true, "Other nodes set the line's pad, or to something else.", node_pad},
    GroundsRow{
        "node.priority", true, "The driver's place among the ways off is another.", node_priority},
    GroundsRow{"post-halt.line",
               true,
               "What the configuration names is another line now.",
               [](const Scene& s) { return place_of(s, s.post_halt); }},
    GroundsRow{
        "post-halt.others", true, "Somebody else names the line, or does no more.", node_others},
    GroundsRow{"post-halt.pad", true, "The line's pad has another function.", post_halt_pad},
};

}  // namespace

std::span<const GroundsRow> grounds_rows() {
    return rows;
}

}  // namespace nightlatch::audit
