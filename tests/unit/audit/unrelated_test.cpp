// SPDX-License-Identifier: MIT
// Nodes that have nothing to do with the button, the post-halt line or the lamp change nothing.
#include "support/seeds.hpp"
#include "unit/audit/rule_cases.hpp"

#include <array>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;

namespace {

using nightlatch::test::Dice;

std::string word(Dice& dice) {
    std::string text = "w";
    for (unsigned i = 0; i < 6; ++i) {
        text += "abcdefghijklmnopqrstuvwxyz"[dice.below(26)];
    }
    return text;
}

/// Devices, keys and lamps on lines of the expander that no case uses.
void add_unrelated(Facts& facts, Dice& dice, unsigned index) {
    const std::string path =
        (dice.one_in(2) ? "/" : "/soc/") + word(dice) + "@" + std::to_string(index);
    const std::uint32_t line = dice.pick(std::array<std::uint32_t, 3>{0, 1, 3});
    switch (dice.below(4)) {
    case 0:
        add_node(facts, path, {{"compatible", strings({"pontoon,sensor"})}, {"reg", word(dice)}});
        return;
    case 1:
        add_node(facts, path, {{"reset-gpios", cells({expander_phandle, line, 0})}});
        return;
    case 2:
        add_node(facts, path, {{"compatible", strings({"gpio-keys"})}});
        add_node(facts,
                 path + "/hatch",
                 {{"gpios", cells({expander_phandle, line, 1})}, {"linux,code", cells({30})}});
        return;
    default:
        add_node(facts,
                 "/leds/" + word(dice) + std::to_string(index),
                 {{"gpios", cells({expander_phandle, line, 0})}});
        return;
    }
}

std::string findings_text(const Facts& facts) {
    std::string text;
    for (const RuleResult& result : run(facts).results) {
        text += std::string(result.rule->id) + " " + std::to_string(result.judgement.index());
        for (const Finding& finding : findings_in(result.judgement)) {
            text += " " + std::string(text_of(finding.severity)) + " " + finding.place + ": " +
                    finding.sentence + finding.remedy;
            for (const std::string& line : finding.evidence) {
                text += line;
            }
        }
        text += "\n";
    }
    return text;
}

}  // namespace

TEST_CASE("unrelated nodes of the tree change no finding", "[audit][property]") {
    Dice dice(nightlatch::test::seed_for("unrelated nodes"));
    for (const auto& cases : {post_halt_bad_cases(), button_bad_cases(), cue_bad_cases()}) {
        for (const BadCase& bad : cases) {
            INFO(bad.id << ", " << bad.says);
            Facts facts = good_unit();
            bad.spoil(facts);
            const std::string before = findings_text(facts);
            for (unsigned i = 0; i < 8; ++i) {
                add_unrelated(facts, dice, i);
            }
            CHECK(findings_text(facts) == before);
        }
    }
}
