// SPDX-License-Identifier: MIT
#include "audit/grounds.hpp"
#include "support/seeds.hpp"
#include "unit/audit/rule_cases.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using Catch::Matchers::ContainsSubstring;
using nightlatch::test::Dice;

namespace {

std::string text_of_kept(const Facts& facts) {
    return to_text(grounds_of(make_scene(facts), judge_post_halt(facts).verdict, "0.1.0"));
}

std::string trouble_in(std::string_view text) {
    const auto grounds = read_grounds(text);
    return grounds ? "none" : grounds.error();
}

std::string with_head(std::string_view lines) {
    return "format = nightlatch-audit-facts 1\n" + std::string(lines);
}

}  // namespace

TEST_CASE("the rows stand in the order of their keys, each once, with a sentence",
          "[audit][grounds]") {
    const auto rows = grounds_rows();
    REQUIRE(!rows.empty());
    CHECK(std::is_sorted(
        rows.begin(), rows.end(), [](const auto& a, const auto& b) { return a.key < b.key; }));
    for (std::size_t i = 0; i < rows.size(); ++i) {
        INFO(rows[i].key);
        CHECK(rows[i].so.ends_with('.'));
        CHECK((i == 0 || rows[i].key != rows[i - 1].key));
    }
}

TEST_CASE("what is kept of the good unit can be read back, and is all of it", "[audit][grounds]") {
    const Facts unit = good_unit();
    const Grounds grounds = grounds_of(make_scene(unit), core::Verdict::configured, "0.1.0");
    const std::string text = to_text(grounds);
    CHECK(text.starts_with("format = nightlatch-audit-facts 1\nboard.compatible = "));
    CHECK_THAT(text, ContainsSubstring("\nnode.line = /soc/gpio@9030000 line 6\n"));
    CHECK_THAT(text, ContainsSubstring("\nverdict = configured\n"));
    const auto read = read_grounds(text);
    REQUIRE(read);
    CHECK(to_text(*read) == text);
    CHECK(grounds.facts.size() == grounds_rows().size() + 2);
}

TEST_CASE(
    "whatever changes the verdict or what is found of the post-halt line shows in what is kept",
    "[audit][grounds][property]") {
    const std::string good = text_of_kept(good_unit());
    for (const BadCase& bad : post_halt_bad_cases()) {
        INFO(bad.id << ", " << bad.says);
        Facts facts = good_unit();
        bad.spoil(facts);
        CHECK(text_of_kept(facts) != good);
    }
}

TEST_CASE("nothing of /chosen is kept, which differs at every boot", "[audit][grounds]") {
    Facts facts = good_unit();
    const std::string before = text_of_kept(facts);
    add_node(facts,
             "/chosen",
             {{"rng-seed", "0123456789abcdef"},
              {"kaslr-seed", cells({1, 2})},
              {"linux,initrd-start", cells({3})},
              {"serial-number", strings({"SN-0001"})}});
    set_property(facts, "/", "serial-number", strings({"SN-0001"}));
    CHECK(text_of_kept(facts) == before);
    soc_chip(facts).name = "gpiochip7";
    CHECK(text_of_kept(facts) == before);
}

TEST_CASE("what cannot be seen is kept as that, and is not a value", "[audit][grounds]") {
    Facts facts = good_unit();
    facts.driver.bound = Known<std::vector<std::string>>::missing("root");
    const auto read = read_grounds(text_of_kept(facts));
    REQUIRE(read);
    CHECK_FALSE(read->facts.at("driver.bound"));
    facts.driver.bound = std::vector<std::string>{"?"};
    const auto named = read_grounds(text_of_kept(facts));
    REQUIRE(named);
    CHECK(*named->facts.at("driver.bound") == "\"?\"");
}

TEST_CASE("foreign text keeps its line, a long one its sum", "[audit][grounds]") {
    Facts facts = good_unit();
    const std::string good = text_of_kept(facts);
    const auto lines = std::count(good.begin(), good.end(), '\n');
    const std::string hostile(5'000, '\x1b');
    facts.driver.bound = std::vector<std::string>{"a\nverdict = configured", hostile};
    const std::string one = text_of_kept(facts);
    facts.driver.bound = std::vector<std::string>{"a\nverdict = configured", hostile + "x"};
    const std::string other = text_of_kept(facts);
    CHECK(std::count(one.begin(), one.end(), '\n') == lines);
    CHECK(one.size() <= most_grounds_bytes);
    CHECK(one != other);
    REQUIRE(read_grounds(one));
    CHECK(to_text(*read_grounds(one)) == one);
}

TEST_CASE("the longest of all files is within the limit", "[audit][grounds]") {
    std::size_t most = 100;
    for (const GroundsRow& row : grounds_rows()) {
        most += row.key.size() + 4 + most_grounds_value;
    }
    CHECK(most <= most_grounds_bytes);
}

TEST_CASE("a file that is none of these says in which line, and why", "[audit][grounds]") {
    CHECK_THAT(trouble_in(""), ContainsSubstring("1: "));
    CHECK_THAT(trouble_in("format = nightlatch-audit-facts 2\n"),
               ContainsSubstring("1: this is not a file of `audit --save`, or of another version"));
    CHECK(trouble_in(with_head("")) == "none");
    CHECK(trouble_in(with_head("a.b = c\nd = ?")) == "none");
    CHECK_THAT(trouble_in(with_head("a.b\n")), ContainsSubstring("2: no \"key = value\""));
    CHECK_THAT(trouble_in(with_head("\n")), ContainsSubstring("2: "));
    CHECK_THAT(trouble_in(with_head("a = b\nA = c\n")), ContainsSubstring("3: \"A\" is not a key"));
    CHECK_THAT(trouble_in(with_head("a = b\na = c\n")), ContainsSubstring("3: a is given twice"));
    CHECK_THAT(trouble_in(with_head("a = \x1b[2J\n")), ContainsSubstring("2: the value of a"));
    CHECK_THAT(trouble_in(with_head("a = " + std::string(1'001, 'b'))), ContainsSubstring("2: "));
    CHECK_THAT(trouble_in(std::string(most_grounds_bytes + 1, 'a')), ContainsSubstring("longer"));
}

TEST_CASE("any bytes are read or refused in safe words", "[audit][grounds][random]") {
    Dice dice(nightlatch::test::seed_for("hostile kept facts"));
    const std::string good = text_of_kept(good_unit());
    unsigned refused = 0;
    for (unsigned i = 0; i < 2'000; ++i) {
        std::string text = good;
        for (auto changes = 1 + dice.below(4); changes > 0; --changes) {
            text[dice.below(text.size())] = static_cast<char>(dice.below(256));
        }
        const auto read = read_grounds(text);
        refused += read ? 0U : 1U;
        if (read) {
            CHECK(read_grounds(to_text(*read)).has_value());
        } else {
            CHECK(is_safe(read.error()));
        }
    }
    CHECK(refused > 100);
    CHECK(refused < 2'000);
}
