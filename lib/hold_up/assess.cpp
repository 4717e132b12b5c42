// SPDX-License-Identifier: MIT
#include "hold_up/assess.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace nightlatch::hold_up {
namespace {

using circuit::Finding;
using circuit::to_text;

constexpr std::array<std::string_view, 6> caution_texts{
    "A supercapacitor charges through a limiter, or it is a short to the supply; in series each "
    "needs balancing; its rated voltage falls with the temperature.",
    "A full supercapacitor melts tools and wires: fuse it, and let it discharge before you touch "
    "it.",
    "Cells need a charger, protection and a fuse made for them, in hardware; cold takes capacity, "
    "and a lithium cell is not charged below 0 C.",
    "The data sheets of store and converter come first: ageing, temperature, and efficiency at "
    "this current and voltage.",
    "Mains and battery packs are a matter of local codes and licensed practice.",
    "Time a real unit, aged and cold, at its worst load, before you trust the budget.",
};

std::string seconds(double value) {
    return to_text(value, Unit::second, 3);
}

std::string headline_of(const Assessed& assessed) {
    const Budget& worst = assessed.worst;
    if (worst.lasts <= 0.0) {
        return "At the worst corner the store holds nothing up: it ends at " +
               to_text(ends_at(worst.exact), Unit::volt, 3) + ", and begins at " +
               to_text(worst.exact.from, Unit::volt, 3) + ".";
    }
    return "At the worst corner the supply lasts " + seconds(worst.lasts) + ", and " +
           seconds(worst.noticed + worst.going_down) + " are needed: " +
           (worst.margin < 0.0 ? seconds(-worst.margin) + " are missing."
                               : "a margin of " + seconds(worst.margin) + ".");
}

std::string remedy_of(const std::vector<Change>& changes) {
    if (changes.empty()) {
        return "no single change is enough: a larger store, a lower cut-out and less load together";
    }
    return changes.front().words + (changes.size() > 1 ? ", or what stands under What if" : "");
}

void judge_margin(Assessed& assessed) {
    const HoldUp& hold_up = assessed.hold_up;
    if (assessed.is_enough()) {
        return;
    }
    const Budget& worst = assessed.worst;
    const bool none = worst.lasts <= 0.0;
    const bool negative = worst.margin < 0.0;
    assessed.findings.push_back(
        {Finding::Weight::failure,
         none       ? "hold-up-none"
         : negative ? "hold-up"
                    : "hold-up-margin",
         none || negative
             ? assessed.headline
             : "The hold-up leaves " + seconds(worst.margin) + " at the worst corner, and " +
                   seconds(hold_up.margin) + " are asked for.",
         none ? "a lower ESR, a lower cut-out, or a store with a higher voltage"
              : remedy_of(assessed.changes)});
}

void judge_notice(Assessed& assessed) {
    const Notice& notice = assessed.notice;
    if (notice.by == Notice::By::button) {
        assessed.findings.push_back(
            {Finding::Weight::warning,
             "hold-up-unnoticed",
             "No [[alarm]] asks for power-off: when the supply fails only a person at the button "
             "does, and the time counts from the press.",
             "an [[alarm]] on a line that tells of the failing supply, or noticed_after"});
    }
    if (notice.by == Notice::By::alarm && notice.respects) {
        assessed.findings.push_back(
            {Finding::Weight::note,
             "hold-up-lock",
             "The alarm " + in_quotes(notice.name) +
                 " respects inhibitors: while a program holds a lock its request is refused, and "
                 "the budget does not hold.",
             "inhibitors = \"override\" for this alarm, where losing work is better than losing "
             "power"});
    }
}

}  // namespace

Assessed assess(const HoldUp& hold_up, const Notice& notice) {
    Assessed assessed{hold_up, notice, typical_budget(hold_up), worst_budget(hold_up), {}, {}, {}};
    assessed.headline = headline_of(assessed);
    if (!assessed.is_enough()) {
        assessed.changes = changes_for(hold_up, notice);
    }
    judge_margin(assessed);
    judge_notice(assessed);
    return assessed;
}

std::span<const std::string_view> cautions() noexcept {
    return caution_texts;
}

}  // namespace nightlatch::hold_up
