// SPDX-License-Identifier: MIT
#include "devicetree/tree.hpp"
#include "support/tree_made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::devicetree;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::Equals;
using test::cells;
using test::made_tree;

namespace {

/// A builder with that many nodes open, the root among them.
Builder nested(std::size_t depth, Limits limits = {}) {
    Builder builder(limits);
    for (std::size_t i = 0; i < depth; ++i) {
        REQUIRE(builder.enter("n"));
    }
    return builder;
}

std::string failure_of(const Outcome& outcome) {
    REQUIRE_FALSE(outcome);
    return outcome.error().text;
}

}  // namespace

TEST_CASE("nodes are found by their paths and tell them", "[devicetree]") {
    const Tree tree = made_tree({{"/", {}}, {"/soc/gpio@1", {}}, {"/soc/gpio@2/hog", {}}});
    REQUIRE(tree.size() == 5);
    for (const std::string path : {"/", "/soc", "/soc/gpio@1", "/soc/gpio@2", "/soc/gpio@2/hog"}) {
        REQUIRE(tree.find(path) != no_node);
        CHECK(tree.path_of(tree.find(path)) == path);
    }
    for (const std::string path : {"", "soc", "/so", "/soc/gpio", "/soc/gpio@1/hog", "/gpio@1"}) {
        CHECK(tree.find(path) == no_node);
    }
    CHECK(Tree().find("/") == no_node);
}

TEST_CASE("a property is found among few and among many", "[devicetree]") {
    test::MadeNode many{"/many", {}};
    for (int i = 0; i < 100; ++i) {
        many.properties.emplace_back("p" + std::to_string(i), std::to_string(i));
    }
    const Tree tree = made_tree({{"/few", {{"empty", ""}, {"x", "1"}}}, many});
    const NodeId few = tree.find("/few");
    REQUIRE(tree.value(few, "empty") != nullptr);
    CHECK(tree.value(few, "empty")->empty());
    CHECK(*tree.value(few, "x") == "1");
    CHECK(tree.value(few, "y") == nullptr);
    for (int i = 0; i < 100; ++i) {
        const std::string* const found = tree.value(tree.find("/many"), "p" + std::to_string(i));
        REQUIRE(found != nullptr);
        CHECK(*found == std::to_string(i));
    }
    CHECK(tree.value(tree.find("/many"), "p") == nullptr);
    CHECK(tree.value(tree.find("/many"), "zz") == nullptr);
}

TEST_CASE("a property that comes again replaces the value, in its old place", "[devicetree]") {
    const Tree tree = made_tree({{"/a", {{"x", "1"}, {"y", "2"}, {"x", "3"}, {"x", "4"}}}});
    const Node& node = tree.node(tree.find("/a"));
    REQUIRE(node.properties.size() == 2);
    CHECK(node.properties[0].name == "x");
    CHECK(node.properties[0].value == "4");
    CHECK(node.properties[1].value == "2");
}

TEST_CASE("nodes are found by phandle, the older spelling too, of equal ones the first",
          "[devicetree]") {
    const Tree tree =
        made_tree({{"/new", {{"phandle", cells({1})}}},
                   {"/old", {{"linux,phandle", cells({2})}}},
                   {"/both", {{"linux,phandle", cells({9})}, {"phandle", cells({3})}}},
                   {"/again", {{"phandle", cells({1})}}},
                   {"/none", {{"phandle", cells({0})}}},
                   {"/ones", {{"phandle", cells({0xffffffff})}}},
                   {"/half", {{"phandle", "ab"}}}});
    CHECK(tree.by_phandle(1) == tree.find("/new"));
    CHECK(tree.by_phandle(2) == tree.find("/old"));
    CHECK(tree.by_phandle(3) == tree.find("/both"));
    for (const std::uint32_t phandle : {0U, 4U, 9U, 0xffffffffU}) {
        CHECK(tree.by_phandle(phandle) == no_node);
    }
}

TEST_CASE("what is not a tree is refused with a sentence", "[devicetree]") {
    CHECK_THAT(Builder().finish().error().text, Equals("the device tree has no node"));
    CHECK_THAT(failure_of(Builder().leave()),
               Equals("the device tree leaves a node that it never entered"));
    CHECK_THAT(failure_of(Builder().property("x", "")),
               Equals("the device tree has a property outside of any node"));
    CHECK_THAT(nested(3).finish().error().text,
               Equals("the device tree ends inside of a node, at /n/n"));
    Builder closed = nested(1);
    REQUIRE(closed.leave());
    CHECK_THAT(failure_of(closed.enter("again")), Equals("the device tree has a second root"));
}

TEST_CASE("names that would confuse a path or a terminal are refused", "[devicetree]") {
    for (const std::string& name : {std::string(),
                                    std::string("a/b"),
                                    std::string("a b"),
                                    std::string("\x1b[2J"),
                                    std::string("a\0b", 3),
                                    std::string("\xc3\xa4"),
                                    std::string(256, 'a')}) {
        CHECK_THAT(failure_of(nested(1).enter(name)), ContainsSubstring("node whose name is"));
        CHECK_THAT(failure_of(nested(1).property(name, "")),
                   ContainsSubstring("property whose name is"));
    }
    CHECK(nested(1).enter(std::string(255, 'a')));
    CHECK(nested(1).property("#gpio-cells", ""));
}

TEST_CASE("the first failure stays", "[devicetree]") {
    Builder builder = nested(2);
    const std::string first = failure_of(builder.enter("a/b"));
    CHECK_THAT(first, ContainsSubstring(", at /n"));
    CHECK(failure_of(builder.enter("fine")) == first);
    CHECK(failure_of(builder.property("fine", "")) == first);
    CHECK(failure_of(builder.leave()) == first);
    CHECK(builder.finish().error().text == first);
}

TEST_CASE("no tree is deeper, larger or longer than its limits", "[devicetree]") {
    const Limits limits{.depth = 4, .nodes = 6, .properties = 3, .bytes = 40};
    CHECK_THAT(failure_of(nested(4, limits).enter("n")),
               ContainsSubstring("nested deeper than 4 nodes"));

    Builder wide = nested(1, limits);
    for (int i = 0; i < 5; ++i) {
        REQUIRE(wide.enter("n"));
        REQUIRE(wide.leave());
    }
    CHECK_THAT(failure_of(wide.enter("n")), ContainsSubstring("more than 6 nodes"));

    Builder rich = nested(1, limits);
    for (const std::string name : {"a", "b", "c"}) {
        REQUIRE(rich.property(name, ""));
    }
    CHECK_THAT(failure_of(rich.property("d", "")), ContainsSubstring("more than 3 properties"));

    Builder long_value = nested(2, limits);
    REQUIRE(long_value.property("v", std::string(38, 'x')));
    CHECK_THAT(failure_of(long_value.property("w", "")), ContainsSubstring("more than 40 bytes"));
    CHECK_THAT(failure_of(nested(2, limits).enter(std::string(40, 'n'))),
               ContainsSubstring("more than 40 bytes"));
}
