// SPDX-License-Identifier: MIT
#include "audit/claims.hpp"
#include "audit/post_halt.hpp"
#include "audit/remedy.hpp"
#include "audit/say.hpp"
#include "base/text.hpp"
#include "config/diagnostic.hpp"

#include <algorithm>

namespace nightlatch::audit::post_halt {
namespace {

using devicetree::PostHaltNode;

constexpr std::string_view driver_folder = "/sys/bus/platform/drivers/poweroff-gpio";

bool lists(const Known<std::vector<std::string>>& paths, const std::string& path) {
    return paths && std::find(paths->begin(), paths->end(), path) != paths->end();
}

bool is_bound(const Scene& scene) {
    return lists(scene.facts->driver.bound, scene.tree->path_of(scene.node->node));
}

bool has_psci(const Scene& scene) {
    return !scene.inventory.psci.empty() && scene.inventory.psci != "0.1";
}

/// One reason why the driver did not, or will not, take the node's device.
struct Obstacle {
    std::string why;
    std::vector<std::string> evidence;
    std::string remedy;
};

std::vector<std::string> log_lines(const Scene& scene, std::string_view part) {
    std::vector<std::string> lines;
    const auto& log = scene.facts->driver.log;
    for (const std::string& line : log ? *log : std::vector<std::string>{}) {
        if (line.find(part) != std::string::npos) {
            lines.push_back("kernel log: " + line);
        }
    }
    return lines;
}

std::optional<Obstacle> deferred(const Scene& scene) {
    const std::string path = scene.tree->path_of(scene.node->node);
    if (!lists(scene.facts->driver.deferred, path)) {
        return std::nullopt;
    }
    return Obstacle{"its probe is deferred: it waits for something that has not come, mostly the "
                    "line's own controller",
                    {path + " is among the deferred devices"},
                    "Look as root in /sys/kernel/debug/devices_deferred for what it waits for, and "
                    "see that the controller's driver is in the kernel or loaded."};
}

/// Before 6.7 there is one slot for all ways off, the firmware takes it before any other driver is
/// probed, and this driver does not replace what is there [linux 6.1
/// drivers/power/reset/gpio-poweroff.c and drivers/firmware/psci/psci.c].
std::optional<Obstacle> slot_taken(const Scene& scene) {
    std::vector<std::string> evidence =
        log_lines(scene, "pm_power_off function already registered");
    const Known<KernelVersion>& kernel = scene.facts->kernel;
    const bool by_firmware =
        kernel && !kernel->at_least(6, 7) && has_psci(scene) && !scene.node->takes_over;
    if (evidence.empty() && !by_firmware) {
        return std::nullopt;
    }
    if (by_firmware) {
        evidence.push_back("Linux " + kernel->release + ", and PSCI " + scene.inventory.psci +
                           " in the device tree");
    }
    return Obstacle{"the kernel's one power-off slot was already taken" +
                        std::string(by_firmware ? ", by the firmware (PSCI)" : "") +
                        ", and before Linux 6.7 the driver then gives up (-EBUSY)",
                    std::move(evidence),
                    "Use a kernel of 6.7 or later, in which several ways off stand in a chain."};
}

std::vector<Obstacle> obstacles(const Scene& scene) {
    std::vector<Obstacle> found;
    for (auto* const look : {deferred, slot_taken}) {
        if (auto obstacle = look(scene)) {
            found.push_back(*std::move(obstacle));
        }
    }
    return found;
}

Judgement not_bound(const Scene& scene, bool live) {
    const std::string path = scene.tree->path_of(scene.node->node);
    Findings findings;
    for (const Obstacle& obstacle : obstacles(scene)) {
        Finding& finding =
            findings.error(path,
                           std::string(live ? "The driver is not bound to the post-halt node: "
                                            : "The driver will not take the post-halt node: ") +
                               obstacle.why + ". After halt the line is not raised.");
        finding.evidence = obstacle.evidence;
        finding.remedy = obstacle.remedy;
    }
    if (findings.empty() && live) {
        Finding& finding = findings.error(path,
                                          "The driver is not bound to the post-halt node, for a "
                                          "reason that could not be seen: after halt the line is "
                                          "not raised.");
        finding.evidence = {std::string(driver_folder) + " has no link to it"};
        for (std::string& line : log_lines(scene, "poweroff")) {
            finding.evidence.push_back(std::move(line));
        }
        finding.remedy = "Look as root for the driver's words: dmesg | grep -i poweroff";
    }
    if (findings.empty() && !scene.facts->kernel && has_psci(scene)) {
        return CannotTell{
            "the kernel's version: before 6.7 the firmware's way off (PSCI) keeps the "
            "driver out"};
    }
    return findings.or_else(NotApplicable{
        "only a running kernel binds a driver; nothing was seen that would keep it from that"});
}

}  // namespace

Judgement driver_is_built_in(const Scene& scene) {
    const PostHaltDriver& driver = scene.facts->driver;
    if (!driver.registered && !driver.configured) {
        return CannotTell{driver.registered.what_is_missing()};
    }
    const bool there = driver.registered ? *driver.registered : *driver.configured == Built::in;
    Findings findings;
    if (!there) {
        Finding& finding = findings.error(
            "the kernel",
            "The kernel has no gpio-poweroff driver: whatever the device tree says, no line is "
            "raised after halt. It cannot be loaded later: it is never a module.");
        if (driver.registered) {
            finding.evidence.push_back(std::string(driver_folder) + " is not there");
        }
        if (driver.configured && *driver.configured != Built::in) {
            finding.evidence.push_back("CONFIG_POWER_RESET_GPIO is not set in its configuration");
        }
        finding.remedy = "Use a kernel with CONFIG_POWER_RESET_GPIO=y; Debian's generic arm64 "
                         "kernels do not have it: build one, or take another kernel.";
    }
    return findings.or_pass("the driver is compiled in");
}

Judgement driver_is_bound(const Scene& scene) {
    if (scene.facts->source != Source::live) {
        return not_bound(scene, false);
    }
    if (!scene.facts->driver.bound) {
        return CannotTell{scene.facts->driver.bound.what_is_missing()};
    }
    if (is_bound(scene)) {
        return Pass{"the driver is bound to " + scene.tree->path_of(scene.node->node)};
    }
    return not_bound(scene, true);
}

Judgement chip_does_not_sleep(const Scene& scene) {
    if (!scene.node->line) {
        return NotApplicable{"the node's line cannot be resolved"};
    }
    const devicetree::GpioLine& line = *scene.node->line;
    const auto& controllers = scene.inventory.controllers;
    bool sleeps = std::any_of(controllers.begin(), controllers.end(), [&](const auto& controller) {
        return controller.node == line.controller && controller.sleeps;
    });
    const std::string path = scene.tree->path_of(line.controller);
    if (scene.facts->chips) {
        for (const lines::Chip& chip : *scene.facts->chips) {
            sleeps = sleeps || (chip.node == path && chip.sleeps);
        }
    }
    Findings findings;
    if (sleeps) {
        Finding& finding = findings.warning(
            scene.tree->path_of(scene.node->node),
            "The line is on an expander behind a bus: at power-off interrupts are off and the "
            "other processors stopped, and the transfer that would raise the line may never end.");
        finding.evidence = {text_of(scene, line)};
        finding.remedy = "Take a line of the processor's own.";
    }
    return findings.or_pass("the line is on a controller that needs no bus");
}

Judgement nobody_else_claims_it(const Scene& scene) {
    if (!scene.node->line) {
        return NotApplicable{"the node's line cannot be resolved"};
    }
    const devicetree::GpioLine& line = *scene.node->line;
    const bool bound = is_bound(scene);
    Findings findings;
    for (const Claim& claim : claims_on(scene, line)) {
        const std::string path = scene.tree->path_of(claim.node);
        const std::string both =
            "Of the post-halt line " + text_of(scene, line) + " " + claim.what + " makes use, too";
        Finding& finding = bound ? findings.warning(path, both + "; today the driver came first.")
                                 : findings.error(path,
                                                  both + ": whoever is first keeps the other out, "
                                                         "and the line may not be raised.");
        finding.evidence = {path + ": " + claim.what};
        finding.remedy =
            "Take it out of the tree, or give it status = \"disabled\"; or use another line.";
    }
    const lines::Line* const live = live_line(scene, line);
    // Whose the line is can be told only from what the driver has: labels are not to be relied on.
    if (findings.empty() && scene.facts->driver.bound && !bound && live != nullptr && live->used) {
        Finding& finding = findings.error(text_of(scene, line),
                                          "Somebody else holds the post-halt line, so the driver "
                                          "cannot have it.");
        finding.evidence = {"the kernel calls the holder " + in_quotes(live->consumer)};
        finding.remedy = "Stop what holds it; the driver takes the line at boot only.";
    }
    return findings.or_pass("no other node of the device tree names " + text_of(scene, line));
}

}  // namespace nightlatch::audit::post_halt
