// SPDX-License-Identifier: MIT
#include "audit/audit.hpp"

#include "audit/engine.hpp"
#include "audit/verdict.hpp"

#include <algorithm>

namespace nightlatch::audit {
namespace {

void add(std::vector<const Rule*>& rules, std::span<const Rule> group) {
    for (const Rule& rule : group) {
        rules.push_back(&rule);
    }
}

VerdictResult judge_post_halt(const Scene& scene) {
    std::vector<const Rule*> rules;
    add(rules, post_halt_rules());
    return verdict_of(run_rules(rules, scene));
}

}  // namespace

std::vector<const Rule*> all_rules() {
    std::vector<const Rule*> rules;
    add(rules, post_halt_rules());
    add(rules, button_rules());
    add(rules, cue_rules());
    add(rules, service_rules());
    add(rules, system_rules());
    add(rules, boot_rules());
    return rules;
}

const Rule* find_rule(std::string_view id) {
    const std::vector<const Rule*> rules = all_rules();
    const auto it =
        std::find_if(rules.begin(), rules.end(), [&](const Rule* rule) { return rule->id == id; });
    return it == rules.end() ? nullptr : *it;
}

Audit run(const Facts& facts, const Choice& choice) {
    const Scene scene = make_scene(facts);
    // The verdict stands on all post-halt rules, whatever the person chose to be shown.
    return {facts.source,
            facts.where,
            judge_post_halt(scene),
            run_rules(all_rules(), scene, choice),
            facts.config && !facts.config->loaded.settings,
            scene.ways_off,
            heard_keys(facts),
            what_could_hide(scene),
            !choice.only.empty()};
}

VerdictResult judge_post_halt(const Facts& facts) {
    return judge_post_halt(make_scene(facts));
}

}  // namespace nightlatch::audit
