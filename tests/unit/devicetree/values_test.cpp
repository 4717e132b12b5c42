// SPDX-License-Identifier: MIT
#include "devicetree/values.hpp"
#include "support/tree_made.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::devicetree;
using namespace std::string_literals;
using nightlatch::test::cells;
using nightlatch::test::made_tree;
using nightlatch::test::strings;

TEST_CASE("cells are big-endian, and half a cell makes the value none", "[devicetree]") {
    CHECK(cells_of("\x01\x02\x03\xff\x00\x00\x00\x2a"s) ==
          std::vector<std::uint32_t>{0x010203ff, 42});
    CHECK(cells_of("")->empty());
    CHECK_FALSE(cells_of("\0\0\0\1\0"s));
}

TEST_CASE("strings end with a NUL, or the value has none", "[devicetree]") {
    CHECK(strings_of("a\0b\0"s) == std::vector<std::string>{"a", "b"});
    CHECK(strings_of("\0\0"s) == std::vector<std::string>{"", ""});
    CHECK(strings_of("").empty());
    CHECK(strings_of("a\0b"s).empty());
}

TEST_CASE("a value of the wrong form reads as not there", "[devicetree]") {
    const Tree tree = made_tree({{"/",
                                  {{"one", cells({7})},
                                   {"two", cells({7, 8})},
                                   {"text", strings({"first", "second"})},
                                   {"unended", "abc"},
                                   {"empty", ""}}}});
    CHECK(cell(tree, root, "one") == 7U);
    CHECK(text(tree, root, "text") == "first");
    for (const char* const name : {"two", "text", "unended", "empty", "absent"}) {
        CHECK_FALSE(cell(tree, root, name));
    }
    for (const char* const name : {"unended", "empty", "absent"}) {
        CHECK_FALSE(text(tree, root, name));
    }
    CHECK(has(tree, root, "empty"));
    CHECK_FALSE(has(tree, root, "absent"));
}

TEST_CASE("compatible is compared whole, any one of its strings", "[devicetree]") {
    const Tree tree = made_tree({{"/a", {{"compatible", strings({"v,new", "v,old"})}}},
                                 {"/b", {{"compatible", "v,old"}}},
                                 {"/c", {}}});
    CHECK(is_compatible(tree, tree.find("/a"), "v,new"));
    CHECK(is_compatible(tree, tree.find("/a"), "v,old"));
    CHECK_FALSE(is_compatible(tree, tree.find("/a"), "v,ol"));
    CHECK_FALSE(is_compatible(tree, tree.find("/a"), ""));
    CHECK_FALSE(is_compatible(tree, tree.find("/b"), "v,old"));
    CHECK_FALSE(is_compatible(tree, tree.find("/c"), "v,old"));
}

TEST_CASE("only okay, ok and no status at all are enabled, and only below such", "[devicetree]") {
    const Tree tree = made_tree({{"/none", {}},
                                 {"/okay", {{"status", strings({"okay"})}}},
                                 {"/ok", {{"status", strings({"ok"})}}},
                                 {"/ok/below", {}},
                                 {"/disabled", {{"status", strings({"disabled"})}}},
                                 {"/disabled/below", {{"status", strings({"okay"})}}},
                                 {"/reserved", {{"status", strings({"reserved"})}}},
                                 {"/empty", {{"status", ""}}},
                                 {"/unended", {{"status", "okay"}}}});
    for (const char* const path : {"/none", "/okay", "/ok", "/ok/below"}) {
        CHECK(is_okay(tree, tree.find(path)));
        CHECK(is_enabled(tree, tree.find(path)));
    }
    for (const char* const path : {"/disabled", "/reserved", "/empty", "/unended"}) {
        CHECK_FALSE(is_okay(tree, tree.find(path)));
        CHECK_FALSE(is_enabled(tree, tree.find(path)));
    }
    CHECK(is_okay(tree, tree.find("/disabled/below")));
    CHECK_FALSE(is_enabled(tree, tree.find("/disabled/below")));
}
