// SPDX-License-Identifier: MIT
#include "audit/proof.hpp"
#include "audit/report.hpp"
#include "unit/audit/rule_cases.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::StartsWith;

namespace {

Grounds today(const Facts& facts) {
    return grounds_of(make_scene(facts), judge_post_halt(facts).verdict, "0.1.0");
}

WitnessedRun watched(const Facts& then) {
    return {12, "rail to 0 V, 2.1 s", to_text(today(then))};
}

Audit audited(const Facts& then, const Facts& now) {
    Audit audit = run(now);
    audit.witness = witness_of(watched(then), today(now), judge_post_halt(now));
    return audit;
}

}  // namespace

TEST_CASE("a unit is proven while it is as it was when its supply was watched", "[audit]") {
    const Audit audit = audited(good_unit(), good_unit());
    CHECK(is_proven(audit));
    CHECK_THAT(to_text(audit), StartsWith("verdict: proven\n"));
    CHECK(sentence_of(*audit.witness) ==
          "A person watched the supply go after run 12: \"rail to 0 V, 2.1 s\". All that the "
          "verdict rests on is as it was then.");
}

TEST_CASE("what has changed since is named, and nothing is proven any more", "[audit]") {
    Facts now = good_unit();
    known(now.kernel).release = "6.18.2-pontoon";
    const Audit audit = audited(good_unit(), now);
    CHECK_FALSE(is_proven(audit));
    CHECK_THAT(to_text(audit), StartsWith("verdict: configured, not yet proven\n"));
    REQUIRE(audit.witness->changed == std::vector<std::string>{"kernel.release"});
    CHECK_THAT(audit.witness->why_not, ContainsSubstring("Since then kernel.release has changed."));
}

TEST_CASE("what was watched while the verdict was another one proves nothing", "[audit]") {
    Facts wrong = good_unit();
    set_property(wrong, post_halt_node, "gpios", cells({gpio_phandle, 7, 0}));
    CHECK_FALSE(is_proven(audited(wrong, wrong)));
    CHECK_FALSE(is_proven(audited(wrong, good_unit())));
    CHECK_FALSE(is_proven(audited(good_unit(), wrong)));
    CHECK_FALSE(is_proven(run(good_unit())));
}

TEST_CASE("facts that cannot be seen today are no proof, and facts that cannot be read none",
          "[audit]") {
    Facts blind = good_unit();
    blind.kernel = decltype(blind.kernel)::missing("/proc/version (denied: run as root)");
    const Witness unseen =
        witness_of(watched(good_unit()), today(blind), judge_post_halt(good_unit()));
    CHECK_FALSE(unseen.holds);
    CHECK_THAT(unseen.why_not, ContainsSubstring("run it as root"));
    const Witness damaged =
        witness_of({12, "gone", "tide\n"}, today(good_unit()), judge_post_halt(good_unit()));
    CHECK_FALSE(damaged.holds);
    CHECK_THAT(damaged.why_not, ContainsSubstring("cannot be read (line 1: "));
}
