// SPDX-License-Identifier: MIT
// Who switches off before the post-halt line, or in its place.
#include "audit/post_halt.hpp"
#include "audit/remedy.hpp"
#include "audit/say.hpp"
#include "audit/ways_off.hpp"

#include <algorithm>

namespace nightlatch::audit::post_halt {
namespace {

constexpr int highest_priority = 255;  ///< that the driver takes
constexpr int usual_priority = 200;    ///< above all drivers' own, below the firmware's

/// One above all of the chain; the usual one where that will do.
int priority_that_wins(const std::vector<WayOff>& ways) {
    int highest = default_priority;
    for (const WayOff& way : ways) {
        const bool rival = way.turn == Turn::before || way.turn == Turn::beside;
        if (rival && way.standing.stand == Stand::chain) {
            highest = std::max(highest, way.standing.priority);
        }
    }
    return highest < usual_priority ? usual_priority : highest_priority;
}

bool is_efi(const WayOff& way) {
    return way.node == devicetree::no_node && way.early;
}

std::string remedy_against(const Scene& scene, const WayOff& way, int priority) {
    const std::string without_efi =
        is_efi(way) ? "Or take EFI's run-time services from the kernel: efi=noruntime on its "
                      "command line."
                    : "";
    if (!chain_has_post_halt(scene)) {
        return "No priority helps here: the driver knows it from Linux 6.7 on. Use such a kernel, "
               "with priority = <" +
               std::to_string(priority) + "> in the node, or one without that other driver." +
               (without_efi.empty() ? "" : " " + without_efi);
    }
    const std::string text =
        change_remedy(scene, scene.node->node, {"priority = <" + std::to_string(priority) + ">;"});
    return without_efi.empty() ? text : text + "\n" + without_efi;
}

/// In the prepare phase no priority of the post-halt node helps.
std::string remedy_against_prepare(const WayOff& way, const std::string& path) {
    if (way.early) {
        return "No priority helps: that phase is over before any handler of the post-halt line's "
               "is asked. Use a kernel without this board's own driver.";
    }
    return "No priority helps: that phase is over before any handler of the post-halt line's is "
           "asked. Take the property out of the chip's node, if nothing else needs the chip off: "
           "an overlay cannot, /delete-property/ in the board's source can, or fdtput -d "
           "BOARD.dtb " +
           path + " PROPERTY.";
}

std::string capital(std::string text) {
    if (!text.empty() && text.front() >= 'a' && text.front() <= 'z') {
        text.front() = static_cast<char>(text.front() - 'a' + 'A');
    }
    return text;
}

std::string before_text(const Scene& scene, const WayOff& way) {
    if (!chain_has_post_halt(scene)) {
        return " switches off before the post-halt line is asked: before Linux 6.7 the line has "
               "the one slot, which comes behind the chain. The line is never raised.";
    }
    return " switches off at " + text_of(way.standing) + ", and the post-halt node stands at " +
           std::to_string(scene.node->priority.value_or(0)) + ": the line is never raised.";
}

std::string beside_text(const Scene& scene, const WayOff& way) {
    if (!chain_has_post_halt(scene)) {
        return way.standing.stand == Stand::always
                   ? " takes the kernel's one way off for itself, whoever has it: if its driver "
                     "comes later, the line is never raised; if earlier, the post-halt driver "
                     "gives up."
                   : " wants the kernel's one way off, too: whichever driver comes first has it, "
                     "and if that is not the post-halt driver, the line is never raised.";
    }
    if (way.standing.priority != default_priority) {
        return " wants the same priority, " + std::to_string(way.standing.priority) +
               ", which only one can have: whichever driver comes later is refused.";
    }
    return " switches off at the same priority as the post-halt node: whichever driver came first "
           "acts, and if that is not the post-halt driver, the line is never raised.";
}

void say_rival(const Scene& scene, const WayOff& way, int priority, Findings& findings) {
    const std::string who = capital(way.what);
    Finding* finding = nullptr;
    if (way.turn == Turn::unknown) {
        finding = &findings.warning(way.place,
                                    who + " may switch off, and its place among the ways off is "
                                          "not known here: it may come before the post-halt "
                                          "line.");
        finding->remedy = remedy_against(scene, way, priority);
        if (chain_has_post_halt(scene)) {
            finding->remedy += "\nThat beats all that stand at the kernel's own default. Then "
                               "watch the line at the first power-off.";
        }
    } else if (way.standing.stand == Stand::prepare) {
        finding = &findings.error(way.place,
                                  who + " cuts the board's rails while the kernel still prepares "
                                        "the power-off: the line is never raised, and the supply "
                                        "stays connected to a board that is off.");
        finding->remedy = remedy_against_prepare(way, way.place);
    } else {
        finding = &findings.warning(
            way.place,
            who + (way.turn == Turn::before ? before_text(scene, way) : beside_text(scene, way)));
        finding->remedy = remedy_against(scene, way, priority);
    }
    finding->evidence = {way.inferred};
    if (!way.source.empty()) {
        finding->evidence.push_back("Linux " + way.source +
                                    (way.between ? ", which changed between 6.1 and 6.12" : ""));
    }
}

/// That the firmware has the slot before 6.7 is what post-halt-bound speaks of.
bool is_told_elsewhere(const Scene& scene, const WayOff& way) {
    return way.early && way.standing.stand == Stand::always && !chain_has_post_halt(scene);
}

}  // namespace

Judgement acts_first(const Scene& scene) {
    const int priority = priority_that_wins(scene.ways_off);
    const int ours = static_cast<int>(scene.node->priority.value_or(0));
    Findings findings;
    for (const WayOff& way : scene.ways_off) {
        const bool rival = way.turn == Turn::before || way.turn == Turn::beside ||
                           (way.turn == Turn::unknown && ours < usual_priority);
        if (rival && !is_told_elsewhere(scene, way)) {
            say_rival(scene, way, priority, findings);
        }
    }
    return findings.or_pass("no other way off that can be seen from here acts before it");
}

}  // namespace nightlatch::audit::post_halt
