// SPDX-License-Identifier: MIT
#include "audit/report.hpp"
#include "page/wrap.hpp"
#include "unit/audit/rule_cases.hpp"

#include <sstream>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::StartsWith;

namespace {

Audit audit_of(void (*spoil)(Facts&), const Choice& choice = {}) {
    Facts facts = good_unit();
    spoil(facts);
    return run(facts, choice);
}

void remove_post_halt(Facts& facts) {
    remove_node(facts, post_halt_node);
}

void make_input(Facts& facts) {
    set_property(facts, post_halt_node, "input");
}

void pull_by_chip(Facts& facts) {
    edit_config(facts, "\"as-is\"", "\"pull-up\"");
}

void leave_polarity_open(Facts& facts) {
    edit_config(facts, "active = \"high\"\n", "");
}

void nothing(Facts&) {}

}  // namespace

TEST_CASE("the exit status is 0 for a good unit and for notes, 1 for a warning or a bad verdict",
          "[audit][report]") {
    CHECK(exit_status(audit_of(nothing)) == 0);
    CHECK(exit_status(audit_of(pull_by_chip)) == 0);
    CHECK(exit_status(audit_of(make_input)) == 1);
    CHECK(exit_status(audit_of(remove_post_halt)) == 1);
    CHECK(exit_status(audit_of(leave_polarity_open)) == 1);
}

TEST_CASE("a bad configuration has an exit status of its own", "[audit][report]") {
    const Audit audit = audit_of([](Facts& facts) { known(facts.config).loaded.settings.reset(); });
    CHECK(exit_status(audit) == 2);
}

TEST_CASE("of chosen rules only what they show counts for the exit status", "[audit][report]") {
    CHECK(exit_status(audit_of(remove_post_halt, {{"led-there"}, {}})) == 0);
    CHECK(exit_status(audit_of(remove_post_halt, {{"post-halt-driver"}, {}})) == 0);
    CHECK(exit_status(audit_of(remove_post_halt, {{"post-halt-node"}, {}})) == 1);
    CHECK(exit_status(audit_of(leave_polarity_open, {{"post-halt-polarity"}, {}})) == 1);
    CHECK(exit_status(audit_of(leave_polarity_open, {{"post-halt-line"}, {}})) == 0);
}

TEST_CASE("the first line is the verdict and the next action comes before any finding",
          "[audit][report]") {
    const std::string text = to_text(audit_of(remove_post_halt));
    CHECK_THAT(text, StartsWith("verdict: absent\n"));
    CHECK(text.find("\nnext: fix post-halt-node as described below, then audit") <
          text.find("\nerror "));
    CHECK_THAT(to_text(audit_of(nothing)), StartsWith("verdict: configured, not yet proven\n"));
    CHECK_THAT(to_text(audit_of(nothing)), ContainsSubstring("watch the supply disconnect"));
}

TEST_CASE("what only a running board knows is a number, until all is asked for",
          "[audit][report]") {
    const Audit audit = audit_of([](Facts& facts) {
        const std::string what = std::string("the watchdogs: ") + only_running;
        facts.watchdogs = decltype(facts.watchdogs)::missing(what);
    });
    const std::string folded = to_text(audit);
    CHECK(folded.find("the watchdogs") == std::string::npos);
    CHECK_THAT(folded, ContainsSubstring("2 checks need a running board; --all names them\n"));
    const std::string whole = to_text(audit, {true, {}});
    CHECK_THAT(whole, ContainsSubstring("    the watchdogs: only a running board knows\n"));
    CHECK_THAT(whole, ContainsSubstring("for watchdog-at-off, hung-system"));
}

TEST_CASE("files alone reach configured, and it is said that they were files", "[audit][report]") {
    const Audit audit = run(as_image(good_unit()), {{"post-halt-node"}, {}});
    CHECK(audit.verdict.verdict == core::Verdict::configured);
    CHECK(exit_status(audit) == 0);
    CHECK_THAT(to_text(audit), StartsWith("verdict: configured, as far as files show\n"));
}

TEST_CASE("findings come worst first", "[audit][report]") {
    const std::string text = to_text(audit_of([](Facts& facts) {
        pull_by_chip(facts);
        make_input(facts);
        known(facts.leds).front().writable_by_service = false;
    }));
    const std::size_t error = text.find("\nerror led-writable");
    const std::size_t warning = text.find("\nwarning post-halt-input");
    const std::size_t note = text.find("\nnote button-bias");
    REQUIRE(note != std::string::npos);
    CHECK(error < warning);
    CHECK(warning < note);
}

TEST_CASE("passes are folded into a count, and --all shows them", "[audit][report]") {
    const Audit audit = audit_of(nothing);
    CHECK_THAT(to_text(audit), ContainsSubstring("checks passed"));
    CHECK_THAT(to_text(audit), !ContainsSubstring("post-halt-bound"));
    const std::string all = to_text(audit, {true, {}});
    for (const RuleResult& result : audit.results) {
        CHECK_THAT(all, ContainsSubstring(std::string(result.rule->id)));
    }
}

TEST_CASE("lines keep to the columns, but for text that is there to be copied", "[audit][report]") {
    for (const unsigned columns : {60U, 80U}) {
        std::istringstream text(to_text(audit_of(remove_post_halt), {true, {columns, false}}));
        for (std::string line; std::getline(text, line);) {
            INFO(line);
            const bool copied =
                line.starts_with("         ") || line.find('\t') != std::string::npos;
            CHECK((copied || page::width(line) <= columns));
        }
    }
}

TEST_CASE("colour comes only when it is asked for", "[audit][report]") {
    const Audit audit = audit_of(remove_post_halt);
    CHECK_THAT(to_text(audit), !ContainsSubstring("\x1b"));
    CHECK_THAT(to_text(audit, {false, {80, true}}), ContainsSubstring("\x1b[1;31mabsent\x1b[0m"));
}

TEST_CASE("a hostile tree cannot steer the terminal", "[audit][report]") {
    Facts facts = good_unit();
    add_node(facts,
             "/leds/mast",
             {{"gpios", cells({gpio_phandle, button_line, 0})}, {"label", strings({"\x1b[2J"})}});
    const std::string text = to_text(run(facts));
    CHECK_THAT(text, ContainsSubstring("button-led"));
    CHECK_THAT(text, !ContainsSubstring("\x1b"));
}

TEST_CASE("an image and files are announced", "[audit][report]") {
    Facts facts = as_image(good_unit());
    CHECK_THAT(to_text(run(facts)), ContainsSubstring("of the image at /mnt: no live facts\n"));
    facts.source = Source::files;
    facts.where = "board.dtb";
    CHECK_THAT(to_text(run(facts)), ContainsSubstring("of board.dtb: the device tree only"));
}

TEST_CASE("a rule is explained by its title, its reason and what it needs", "[audit][report]") {
    const std::string text = explain(*find_rule("post-halt-bound"));
    CHECK_THAT(text, StartsWith("post-halt-bound (post-halt)\n    The driver is bound"));
    CHECK_THAT(text, ContainsSubstring("have passed: post-halt-driver"));
}
