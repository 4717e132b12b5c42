// SPDX-License-Identifier: MIT
// The verdict of a tree's small part is the whole tree's, whatever is wrong with the unit.
#include "audit/audit.hpp"
#include "audit/post_halt_part.hpp"
#include "unit/audit/rule_cases.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;

namespace {

Facts with_part(const Facts& facts) {
    Facts part = facts;
    if (facts.tree) {
        part.tree = post_halt_part(*facts.tree);
    }
    return part;
}

void check_same(const Facts& facts) {
    const Facts part = with_part(facts);
    const VerdictResult whole = judge_post_halt(facts);
    const VerdictResult result = judge_post_halt(part);
    CHECK(result.verdict == whole.verdict);
    CHECK(result.reason == whole.reason);
    const auto all = judged(post_halt_rules(), facts);
    const auto few = judged(post_halt_rules(), part);
    REQUIRE(few.size() == all.size());
    for (std::size_t i = 0; i < all.size(); ++i) {
        INFO(all[i].rule->id);
        const std::vector<Finding> found = findings_in(few[i].judgement);
        CHECK(few[i].judgement.index() == all[i].judgement.index());
        REQUIRE(found.size() == findings_in(all[i].judgement).size());
        for (std::size_t j = 0; j < found.size(); ++j) {
            CHECK(found[j].sentence == findings_in(all[i].judgement)[j].sentence);
        }
    }
}

}  // namespace

TEST_CASE("each bad unit is judged the same by the part of its tree", "[audit][verdict]") {
    check_same(good_unit());
    check_same(as_image(good_unit()));
    for (const auto& cases : {post_halt_bad_cases(), button_bad_cases(), cue_bad_cases()}) {
        for (const BadCase& bad : cases) {
            INFO(bad.id << ", " << bad.says);
            Facts facts = good_unit();
            bad.spoil(facts);
            check_same(facts);
            check_same(as_image(facts));
        }
    }
}

TEST_CASE("a line that leads nowhere, or to what is not a controller, leads there in the part",
          "[audit][verdict]") {
    Facts facts = good_unit();
    set_property(facts, post_halt_node, "gpios", cells({99, 6, 0}));
    check_same(facts);
    add_node(facts, "/soc/pump", {{"phandle", cells({99})}});
    check_same(facts);
}

TEST_CASE("what has nothing to do with the line is left out", "[audit][verdict]") {
    Facts facts = good_unit();
    const std::size_t before = post_halt_part(*facts.tree).size();
    for (unsigned i = 0; i < 50; ++i) {
        add_node(facts,
                 "/soc/pump@" + std::to_string(i),
                 {{"reset-gpios", cells({gpio_phandle, 20 + i, 0})}});
    }
    CHECK(post_halt_part(*facts.tree).size() == before);
    check_same(facts);
}

TEST_CASE("the device of the post-halt line's chip is known where one chip has the line",
          "[audit][verdict]") {
    Facts facts = good_unit();
    CHECK(post_halt_device(facts) == soc_chip(facts).path);
    known(facts.chips).push_back(soc_chip(facts));  // a bank each: whose offset it is, is not known
    CHECK(post_halt_device(facts).empty());
    CHECK(post_halt_device(as_image(good_unit())).empty());
    remove_node(facts, post_halt_node);
    CHECK(post_halt_device(facts).empty());
}
