// SPDX-License-Identifier: MIT
// What the firmware does to the service's lines and to the post-halt line before the kernel runs.
#include "audit/boot_rules.hpp"

#include <algorithm>

namespace nightlatch::audit {
namespace {

using bootfiles::Certainty;
using bootfiles::EarlyLine;

/// Of entries for one line the later holds, so an entry that a later one replaces is nothing.
bool is_replaced(const std::vector<EarlyLine>& lines, std::size_t at) {
    return std::any_of(lines.begin() + static_cast<std::ptrdiff_t>(at) + 1,
                       lines.end(),
                       [&](const EarlyLine& later) {
                           return later.line == lines[at].line && later.certainty == Certainty::yes;
                       });
}

void add_in_force(const std::vector<EarlyLine>& lines, std::vector<const EarlyLine*>& found) {
    for (std::size_t i = 0; i < lines.size(); ++i) {
        if (lines[i].certainty != Certainty::no && !is_replaced(lines, i)) {
            found.push_back(&lines[i]);
        }
    }
}

std::vector<const EarlyLine*> lines_in_force(const Scene& scene) {
    std::vector<const EarlyLine*> found;
    for (const bootfiles::Intent& intent : *scene.facts->boot) {
        add_in_force(intent.early_lines, found);
    }
    return found;
}

std::string shown(const EarlyLine& line) {
    std::string options;
    const auto option = [&](bool is_there, std::string_view text) {
        if (is_there) {
            options += (options.empty() ? "" : ",") + std::string(text);
        }
    };
    option(line.input, "ip");
    option(line.output, "op");
    option(line.drive == EarlyLine::Drive::high, "dh");
    option(line.drive == EarlyLine::Drive::low, "dl");
    option(line.pull == EarlyLine::Pull::up, "pu");
    option(line.pull == EarlyLine::Pull::down, "pd");
    option(line.pull == EarlyLine::Pull::none, "pn");
    return "gpio=" + std::to_string(line.line) + "=" + options;
}

/// What the service drives itself may be an output before.
void judge_early_opened(const EarlyLine& line, const OpenedLine& ours, Findings& findings) {
    if (!line.output || !ours.is_input) {
        return;
    }
    Finding& finding =
        add_certain(findings,
                    line.certainty,
                    text_of(line.place),
                    "the firmware" + on_condition(line.condition) + " makes " + ours.what +
                        " an output: a press, or whatever drives it from outside, then shorts a "
                        "driven pin, which can destroy it");
    finding.evidence = {text_of(line.place) + ": " + shown(line)};
    finding.remedy = "change op to ip in that line, or take the line out, before anybody presses";
}

void judge_early_output(const EarlyLine& line, bool active_low, Findings& findings) {
    const auto active = active_low ? EarlyLine::Drive::low : EarlyLine::Drive::high;
    const std::string place = text_of(line.place);
    const std::string firmware = "the firmware" + on_condition(line.condition);
    if (line.drive != active && line.drive != EarlyLine::Drive::unstated) {
        return;
    }
    Finding& finding =
        line.drive == active
            ? add_certain(findings,
                          line.certainty,
                          place,
                          firmware + " drives the post-halt line active while it boots: the "
                                     "circuit releases as soon as the button is let go")
            : findings.warning(
                  place,
                  firmware + " makes the post-halt line an output and does not say at which level");
    finding.evidence = {place + ": " + shown(line),
                        std::string("the line is active ") + (active_low ? "low" : "high")};
    finding.remedy = std::string("make it op,") + (active_low ? "dh" : "dl");
}

void judge_early_pull(const EarlyLine& line, bool active_low, Findings& findings) {
    const auto active = active_low ? EarlyLine::Pull::down : EarlyLine::Pull::up;
    if (line.pull != active) {
        return;
    }
    const std::string place = text_of(line.place);
    Finding& finding = findings.warning(
        place,
        "the firmware" + on_condition(line.condition) +
            " pulls the post-halt line to its active level until the kernel's driver takes it: "
            "that feeds the hold capacitor and can drop the supply as soon as the finger lifts");
    finding.evidence = {place + ": " + shown(line)};
    finding.remedy = std::string("change the pull to ") + (active_low ? "pu" : "pd");
}

/// The level at which the circuit releases: as [post_halt] says, else as the tree's node has it.
std::optional<bool> post_halt_active_low(const Scene& scene) {
    if (scene.settings != nullptr && scene.settings->post_halt.active_low) {
        return scene.settings->post_halt.active_low;
    }
    if (scene.node != nullptr && scene.node->line) {
        return scene.node->line->active_low();
    }
    return std::nullopt;
}

/// What is missing to judge it, if anything is.
std::string judge_early_line(const OurNumbers& ours,
                             const EarlyLine& line,
                             std::optional<bool> active_low,
                             Findings& findings) {
    if (const OpenedLine* const opened = opened_line(ours, line.line)) {
        judge_early_opened(line, *opened, findings);
        return {};
    }
    if (!is_line(ours.post_halt, line.line)) {
        const std::string missing = what_is_missing(ours.opened);
        return missing.empty() ? ours.post_halt.what_is_missing() : missing;
    }
    if (!active_low) {
        return "at which level the circuit releases ([post_halt] active)";
    }
    if (line.output) {
        judge_early_output(line, *active_low, findings);
    } else {
        judge_early_pull(line, *active_low, findings);
    }
    return {};
}

}  // namespace

Judgement judge_boot_early_line(const Scene& scene) {
    if (std::optional<Judgement> none = no_boot_text(scene)) {
        return *std::move(none);
    }
    const OurNumbers ours = our_numbers(scene);
    const std::optional<bool> active_low = post_halt_active_low(scene);
    Findings findings;
    std::string missing;
    for (const EarlyLine* const line : lines_in_force(scene)) {
        const std::string why = judge_early_line(ours, *line, active_low, findings);
        missing = why.empty() ? missing : why;
    }
    if (!missing.empty()) {
        return findings.or_else(CannotTell{missing});
    }
    return findings.or_pass("no gpio= line drives or pulls one of these lines the wrong way");
}

}  // namespace nightlatch::audit
