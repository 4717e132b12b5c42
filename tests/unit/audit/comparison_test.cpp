// SPDX-License-Identifier: MIT
#include "audit/comparison.hpp"
#include "unit/audit/rule_cases.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using Catch::Matchers::ContainsSubstring;

namespace {

Grounds kept(const Facts& facts) {
    return grounds_of(make_scene(facts), judge_post_halt(facts).verdict, "0.1.0");
}

Comparison compared(const Facts& then, const Facts& now) {
    return compare(kept(then), kept(now), judge_post_halt(now));
}

std::string told(const Comparison& comparison) {
    return to_text(comparison, "unit.facts", {});
}

const Change* change_of(const std::vector<Change>& changes, std::string_view key) {
    const auto it = std::find_if(
        changes.begin(), changes.end(), [&](const Change& one) { return one.key == key; });
    return it == changes.end() ? nullptr : &*it;
}

}  // namespace

TEST_CASE("the same unit is as it was", "[audit][comparison]") {
    const Comparison comparison = compared(good_unit(), good_unit());
    CHECK(is_as_it_was(comparison));
    CHECK(comparison.same >= 20);
    CHECK(comparison.changed.empty());
    CHECK_THAT(told(comparison), ContainsSubstring("verdict: configured, as then"));
    CHECK_THAT(told(comparison), ContainsSubstring("Nothing that matters has changed."));
}

TEST_CASE("an upgrade that takes the line away shows what changed and what that means",
          "[audit][comparison]") {
    Facts now = good_unit();
    known(now.kernel).release = "6.18.2-pontoon";
    set_property(now, post_halt_node, "gpios", cells({gpio_phandle, 7, 0}));
    const Comparison comparison = compared(good_unit(), now);
    CHECK_FALSE(is_as_it_was(comparison));
    const Change* const line = change_of(comparison.changed, "node.line");
    REQUIRE(line != nullptr);
    CHECK(*line->then == "/soc/gpio@9030000 line 6");
    CHECK(*line->now == "/soc/gpio@9030000 line 7");
    CHECK(line->matters);
    const std::string page = told(comparison);
    CHECK_THAT(page, ContainsSubstring("verdict: contradicted (then: configured)"));
    CHECK_THAT(page, ContainsSubstring("node.line: The kernel drives another line."));
    CHECK_THAT(page, ContainsSubstring("kernel.release: Another kernel runs"));
    CHECK(std::count(page.begin(), page.end(), '\n') <= 24);  // one screen
}

TEST_CASE("a change that does not matter is told as that", "[audit][comparison]") {
    Facts now = good_unit();
    set_property(now, "/", "model", strings({"Pontoon logger, second edition"}));
    const Comparison comparison = compared(good_unit(), now);
    CHECK(is_as_it_was(comparison));
    CHECK(comparison.changed.size() == 1);
    CHECK_THAT(told(comparison), ContainsSubstring("changed, and it does not matter"));
}

TEST_CASE("what was seen then and not now is no good answer, and says what is missing",
          "[audit][comparison]") {
    Facts now = good_unit();
    now.driver.configured = Known<Built>::missing("/boot/config-6.12 (denied: run as root)");
    const Comparison comparison = compared(good_unit(), now);
    CHECK_FALSE(is_as_it_was(comparison));
    CHECK(change_of(comparison.unseen, "driver.configured") != nullptr);
    CHECK_THAT(told(comparison), ContainsSubstring("denied: run as root"));
    CHECK_THAT(told(comparison), ContainsSubstring("not all that matters can be seen"));
}

TEST_CASE("what was not seen then is told, and is not a change", "[audit][comparison]") {
    Facts then = good_unit();
    then.driver.configured = Known<Built>::missing("the kernel's configuration");
    const Comparison comparison = compared(then, good_unit());
    CHECK(is_as_it_was(comparison));
    CHECK(change_of(comparison.unknown, "driver.configured") != nullptr);
    CHECK_THAT(told(comparison), ContainsSubstring("seen now, not then: driver.configured"));
}

TEST_CASE("a file of another version is compared in what both look at", "[audit][comparison]") {
    Grounds then = kept(good_unit());
    then.facts.erase("node.input");
    then.facts.emplace("node.colour", std::string("grey"));
    const Comparison comparison = compare(then, kept(good_unit()), judge_post_halt(good_unit()));
    CHECK(is_as_it_was(comparison));
    CHECK(change_of(comparison.unseen, "node.colour") != nullptr);
    CHECK(change_of(comparison.unknown, "node.input") != nullptr);
}

TEST_CASE("whatever is wrong with the post-halt line since then is not a unit as it was",
          "[audit][comparison][property]") {
    for (const BadCase& bad : post_halt_bad_cases()) {
        INFO(bad.id << ", " << bad.says);
        Facts now = good_unit();
        bad.spoil(now);
        CHECK_FALSE(is_as_it_was(compared(good_unit(), now)));
    }
}
