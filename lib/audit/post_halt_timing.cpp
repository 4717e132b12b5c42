// SPDX-License-Identifier: MIT
#include "audit/claims.hpp"
#include "audit/post_halt.hpp"
#include "audit/remedy.hpp"
#include "audit/say.hpp"
#include "audit/ways_off.hpp"
#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "devicetree/values.hpp"

#include <algorithm>

namespace nightlatch::audit::post_halt {
namespace {

using devicetree::PostHaltNode;
using std::chrono::milliseconds;

Duration ms(std::uint32_t count) {
    return milliseconds{count};
}

std::string ms_text(std::uint32_t count) {
    return std::to_string(count) + " ms";
}

/// Who switches the processor off when the driver gives up: from 6.7 on the kernel then goes on to
/// the next way off. Empty for nobody that is known.
std::string next_off(const Scene& scene) {
    const WayOff* const way = what_follows(scene.ways_off);
    return way == nullptr ? "" : way->what;
}

std::vector<std::string> delays(const Scene& scene) {
    const PostHaltNode& node = *scene.node;
    const std::string path = scene.tree->path_of(node.node);
    const auto line = [&](const char* name, std::uint32_t value) {
        return path + "/" + name + " = " + std::to_string(value) +
               (devicetree::has(*scene.tree, node.node, name) ? "" : " (the driver's own)");
    };
    return {line("active-delay-ms", node.active_ms),
            line("inactive-delay-ms", node.inactive_ms),
            line("timeout-ms", node.timeout_ms)};
}

/// Who says how long the circuit needs the line active.
std::vector<std::string> pulse_sources(const Scene& scene) {
    std::vector<std::string> sources;
    if (scene.pulse->stated) {
        sources.push_back(config_place(scene, "post_halt.pulse") + " = " +
                          in_quotes(nightlatch::to_text(*scene.pulse->stated)));
    }
    if (scene.pulse->computed) {
        sources.push_back(config_place(scene, "circuit") + ": " +
                          nightlatch::to_text(*scene.pulse->computed) +
                          " in the worst case (nightlatch circuit)");
    }
    return sources;
}

/// What is stated is what other rules, and people, go by.
void say_stated_short(const Scene& scene, Findings& findings) {
    if (!scene.pulse->stated || !scene.pulse->computed ||
        *scene.pulse->stated >= *scene.pulse->computed) {
        return;
    }
    Finding& finding =
        findings.warning(config_place(scene, "post_halt.pulse"),
                         "[post_halt] pulse states " + nightlatch::to_text(*scene.pulse->stated) +
                             ", and by [circuit] the worst corner needs " +
                             nightlatch::to_text(*scene.pulse->computed) + ".");
    finding.evidence = pulse_sources(scene);
    finding.remedy = "State what the circuit needs, or leave [post_halt] pulse out: it is then "
                     "taken from [circuit].";
}

/// A circuit that lets go with typical parts does so in most units, but nobody knows in which.
void say_no_pulse_will_do(const Scene& scene, Findings& findings) {
    const std::string place = config_place(scene, "circuit");
    Finding& finding =
        scene.pulse->none_typically
            ? findings.error(place,
                             "By [circuit] no pulse of the post-halt line, however long, makes the "
                             "supply stay off.")
            : findings.warning(place,
                               "By [circuit] there are units, within the tolerances of the parts, "
                               "whose supply no pulse of the post-halt line makes stay off.");
    finding.evidence = {place + ", computed for the worst case"};
    finding.remedy =
        "Run nightlatch circuit on this configuration: it says why, and what to change.";
}

void say_first_pulse_short(const Scene& scene, Findings& findings) {
    const PostHaltNode& node = *scene.node;
    const Duration pulse = scene.pulse->pulse;
    const std::string later =
        pulse <= ms(node.timeout_ms)
            ? ": at best the circuit releases in the final level, " +
                  nightlatch::to_text(ms(node.active_ms) + ms(node.inactive_ms) + pulse) +
                  " after halt, if its capacitor holds out over the gap."
        : !next_off(scene).empty()
            ? ", the final level " + ms_text(node.timeout_ms) + " before " + next_off(scene) +
                  " switches the processor off and nothing drives the line any more: the supply "
                  "may stay connected."
            : ": at best the circuit releases in the final level, after the kernel has given up "
              "with a warning.";
    Finding& finding = findings.error(
        scene.tree->path_of(node.node),
        "The circuit needs the line active for " + nightlatch::to_text(pulse) +
            " unbroken, and the first pulse lasts " + ms_text(node.active_ms) + later);
    finding.evidence = delays(scene);
    const std::vector<std::string> sources = pulse_sources(scene);
    finding.evidence.insert(finding.evidence.end(), sources.begin(), sources.end());
    finding.remedy = post_halt_remedy(scene, &node);
}

/// The firmware speaks of the processor's own lines only.
bool firmware_may_mean(const Scene& scene, const devicetree::GpioLine& line) {
    const auto& controllers = scene.inventory.controllers;
    return std::none_of(controllers.begin(), controllers.end(), [&](const auto& controller) {
        return controller.node == line.controller && controller.sleeps;
    });
}

/// What the boot loader sets the line to, if its text says so; of several the last holds.
const bootfiles::EarlyLine* early_line(const Scene& scene) {
    const devicetree::GpioLine& line = *scene.node->line;
    const bootfiles::EarlyLine* found = nullptr;
    for (const bootfiles::Intent& intent : boot_texts(scene)) {
        const auto& lines = intent.early_lines;
        const auto it = std::find_if(lines.rbegin(), lines.rend(), [&](const auto& early) {
            return early.line == line.offset && early.certainty == bootfiles::Certainty::yes;
        });
        found = it == lines.rend() ? found : &*it;
    }
    return firmware_may_mean(scene, line) ? found : nullptr;
}

enum class Rest : unsigned char { unknown, low, high };

Rest rest_of(const bootfiles::EarlyLine& early) {
    using Pull = bootfiles::EarlyLine::Pull;
    using Drive = bootfiles::EarlyLine::Drive;
    if (early.output && early.drive != Drive::unstated) {
        return early.drive == Drive::high ? Rest::high : Rest::low;
    }
    if (early.pull == Pull::up) {
        return Rest::high;
    }
    return early.pull == Pull::down ? Rest::low : Rest::unknown;
}

/// At power-on lines 0 to 8 are pulled up and 9 to 27 down [BCM2835 ARM Peripherals, 6.2].
Rest power_on_rest(const Scene& scene) {
    const devicetree::GpioLine& line = *scene.node->line;
    for (const char* known : {"brcm,bcm2835-gpio", "brcm,bcm2711-gpio"}) {
        if (devicetree::is_compatible(*scene.tree, line.controller, known) && line.offset <= 27) {
            return line.offset <= 8 ? Rest::high : Rest::low;
        }
    }
    return Rest::unknown;
}

std::string word(Rest rest) {
    return rest == Rest::high ? "high" : "low";
}

}  // namespace

Judgement pulse_is_long_enough(const Scene& scene) {
    if (scene.settings == nullptr) {
        return CannotTell{missing_config(scene)};
    }
    if (!scene.pulse) {
        return CannotTell{scene.pulse.what_is_missing()};
    }
    const Duration pulse = scene.pulse->pulse;
    const PostHaltNode& node = *scene.node;
    Findings findings;
    if (scene.pulse->none_at_worst) {
        say_no_pulse_will_do(scene, findings);
    }
    if (pulse > ms(node.active_ms)) {
        say_first_pulse_short(scene, findings);
        return findings.or_pass({});
    }
    if (pulse > milliseconds{100} && !scene.facts->kernel) {
        return CannotTell{"the kernel's version: an old driver does not know active-delay-ms"};
    }
    // The delays came before June 2019 [linux, commit 76ee875c]; a driver without them takes 100
    // ms.
    if (pulse > milliseconds{100} && !scene.facts->kernel->at_least(5, 2)) {
        Finding& finding = findings.warning(scene.tree->path_of(node.node),
                                            "The circuit needs " + nightlatch::to_text(pulse) +
                                                ", and the driver of a kernel this old may not "
                                                "know active-delay-ms: its pulse then "
                                                "lasts 100 ms.");
        finding.evidence = {"Linux " + scene.facts->kernel->release};
        finding.remedy = "Use a kernel of 5.2 or later, or a circuit that 100 ms release.";
    }
    say_stated_short(scene, findings);
    return findings.or_pass("the first pulse lasts " + ms_text(node.active_ms) +
                            ", the circuit needs " + nightlatch::to_text(pulse));
}

Judgement final_level_lasts(const Scene& scene) {
    const PostHaltNode& node = *scene.node;
    // What nobody stated is at least what the driver takes for a pulse by itself.
    const Duration least = scene.pulse ? std::max<Duration>(scene.pulse->pulse, milliseconds{1})
                                       : Duration{milliseconds{100}};
    Findings findings;
    if (ms(node.timeout_ms) < least) {
        Finding& finding = findings.warning(
            scene.tree->path_of(node.node),
            "The final level has only " + ms_text(node.timeout_ms) +
                " before the kernel gives up: " +
                (!next_off(scene).empty()
                     ? next_off(scene) + " then switches the processor off, and nothing drives the "
                                         "line any more."
                     : "it prints a warning with a stack trace, and goes on at full current."));
        finding.evidence = delays(scene);
        finding.remedy = change_remedy(scene, node.node, {"timeout-ms = <3000>;"});
    }
    const std::string next = next_off(scene);
    return findings.or_pass(
        next.empty()
            ? "the final level stays; the kernel gives up after " + ms_text(node.timeout_ms)
            : "the final level stays for " + ms_text(node.timeout_ms) + "; then " + next +
                  " switches the processor off, and nothing drives the line any more");
}

Judgement is_driven_from_the_start(const Scene& scene) {
    Findings findings;
    if (scene.node->input) {
        const std::string path = scene.tree->path_of(scene.node->node);
        Finding& finding = findings.warning(
            path,
            "The line is an input until the power-off itself: while the board runs only a resistor "
            "outside, or the pin's own pull, keeps the supply on.");
        finding.evidence = {path + "/input"};
        finding.remedy =
            "Make sure that a resistor holds the line inactive; or take `input` out of "
            "the node, and the kernel drives the line inactive from its probe on.";
    }
    return findings.or_pass("the kernel drives the line inactive until the power-off");
}

Judgement rests_inactive_from_power_on(const Scene& scene) {
    if (!scene.node->line) {
        return NotApplicable{"the node's line cannot be resolved"};
    }
    const devicetree::GpioLine& line = *scene.node->line;
    const Rest active = line.active_low() ? Rest::low : Rest::high;
    const bootfiles::EarlyLine* const early = early_line(scene);
    Rest rest = early == nullptr ? Rest::unknown : rest_of(*early);
    if (rest == active) {
        return NotApplicable{"the firmware sets it to its active level: see boot-early-line"};
    }
    std::string evidence;
    if (rest != Rest::unknown) {
        evidence = early->place.file + ":" + std::to_string(early->place.line) +
                   ": the firmware leaves the line " + word(rest);
    } else if (rest = power_on_rest(scene); rest != Rest::unknown) {
        evidence = "this controller's line " + std::to_string(line.offset) + " is pulled " +
                   (rest == Rest::high ? "up" : "down") + " at power-on";
    }
    Findings findings;
    if (rest == active) {
        Finding& finding = findings.warning(scene.tree->path_of(scene.node->node),
                                            "Between power-on and the driver's probe " +
                                                text_of(scene, line) + " rests " + word(rest) +
                                                ", its active level: that feeds the hold "
                                                "capacitor, and the supply may drop as soon "
                                                "as the finger lifts. A reboot passes through "
                                                "the same level, and may end in off.");
        finding.evidence = {evidence};
        finding.remedy = "Put a resistor outside that holds the line " +
                         word(active == Rest::high ? Rest::low : Rest::high) +
                         " against the pin's own pull, or take a line that rests there.";
        return findings.or_pass({});
    }
    if (rest == Rest::unknown) {
        return CannotTell{
            "the level of " + text_of(scene, line) +
            " between power-on or a reset and the driver's probe: the pin's own pull decides it "
            "(measure it, or rely on a resistor outside)"};
    }
    return Pass{evidence};
}

}  // namespace nightlatch::audit::post_halt
