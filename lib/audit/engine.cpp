// SPDX-License-Identifier: MIT
#include "audit/engine.hpp"

#include <algorithm>
#include <optional>
#include <string>

namespace nightlatch::audit {
namespace {

struct Slot {
    const Rule* rule = nullptr;
    bool shown = false;
    bool wanted = false;
    std::optional<Judgement> judgement;
};

bool holds(const std::vector<std::string>& ids, std::string_view id) {
    return std::find(ids.begin(), ids.end(), id) != ids.end();
}

Slot* slot_of(std::vector<Slot>& slots, std::string_view id) {
    const auto it = std::find_if(
        slots.begin(), slots.end(), [&](const Slot& slot) { return slot.rule->id == id; });
    return it == slots.end() ? nullptr : &*it;
}

/// What the chosen rules need is wanted too. Ends because a slot becomes wanted only once.
void want_needs_of(std::vector<Slot>& slots, const Rule& rule, std::vector<const Rule*>& open) {
    for (const std::string_view id : rule.needs) {
        Slot* const need = slot_of(slots, id);
        if (need != nullptr && !need->wanted) {
            need->wanted = true;
            open.push_back(need->rule);
        }
    }
}

void want_needs(std::vector<Slot>& slots) {
    std::vector<const Rule*> open;
    for (const Slot& slot : slots) {
        if (slot.wanted) {
            open.push_back(slot.rule);
        }
    }
    while (!open.empty()) {
        const Rule& rule = *open.back();
        open.pop_back();
        want_needs_of(slots, rule, open);
    }
}

enum class Readiness : unsigned char { waiting, ready, answered };

/// What a need's result alone makes of the rule that needs it; nothing when it passed.
std::optional<Judgement> answer_of(std::string_view id, const Judgement& need) {
    if (std::holds_alternative<Pass>(need)) {
        return std::nullopt;
    }
    if (const auto* unknown = std::get_if<CannotTell>(&need)) {
        return *unknown;  // the missing fact might have let this rule find its defect
    }
    return NotApplicable{"it needs " + std::string(id) + ", which did not pass"};
}

/// Whatever else is missing: where a need did not pass there is nothing to judge.
bool decides_over(const Judgement& later, const Judgement& earlier) {
    return std::holds_alternative<NotApplicable>(later) &&
           std::holds_alternative<CannotTell>(earlier);
}

/// Looks at what a rule needs; where that already answers for the rule, it is put down.
Readiness look_at_needs(std::vector<Slot>& slots, Slot& slot) {
    std::optional<Judgement> answer;
    for (const std::string_view id : slot.rule->needs) {
        const Slot* const need = slot_of(slots, id);
        if (need != nullptr && !need->judgement) {
            return Readiness::waiting;
        }
        std::optional<Judgement> one = need == nullptr
                                           ? Judgement{CannotTell{"it needs " + std::string(id) +
                                                                  ", and there is no such rule"}}
                                           : answer_of(id, *need->judgement);
        if (one && (!answer || decides_over(*one, *answer))) {
            answer = std::move(one);
        }
    }
    if (!answer) {
        return Readiness::ready;
    }
    slot.judgement = *std::move(answer);
    return Readiness::answered;
}

bool judge_what_is_ready(std::vector<Slot>& slots, const Scene& scene) {
    bool progress = false;
    for (Slot& slot : slots) {
        if (!slot.wanted || slot.judgement) {
            continue;
        }
        const Readiness readiness = look_at_needs(slots, slot);
        if (readiness == Readiness::ready) {
            slot.judgement = slot.rule->judge(scene);
        }
        progress = progress || readiness != Readiness::waiting;
    }
    return progress;
}

}  // namespace

std::vector<RuleResult> run_rules(std::span<const Rule* const> rules,
                                  const Scene& scene,
                                  const Choice& choice) {
    std::vector<Slot> slots;
    slots.reserve(rules.size());
    for (const Rule* const rule : rules) {
        const bool shown =
            (choice.only.empty() || holds(choice.only, rule->id)) && !holds(choice.skip, rule->id);
        slots.push_back({rule, shown, shown, std::nullopt});
    }
    want_needs(slots);
    while (judge_what_is_ready(slots, scene)) {
    }
    std::vector<RuleResult> results;
    for (Slot& slot : slots) {
        if (slot.shown) {
            // Without a judgement it stands in a circle of needs, which a test keeps out.
            results.push_back({slot.rule,
                               slot.judgement
                                   ? *std::move(slot.judgement)
                                   : Judgement{CannotTell{"the rules that it needs need it"}}});
        }
    }
    return results;
}

}  // namespace nightlatch::audit
