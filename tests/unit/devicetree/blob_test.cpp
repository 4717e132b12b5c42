// SPDX-License-Identifier: MIT
#include "devicetree/blob.hpp"
#include "support/tree_made.hpp"
#include "support/tree_text.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch::devicetree;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::Equals;
using nightlatch::test::blob_of;
using nightlatch::test::cells;
using nightlatch::test::lines_of;
using nightlatch::test::made_tree;
using nightlatch::test::strings;

namespace {

using Lines = std::vector<std::string>;

Tree small_tree() {
    return made_tree({{"/", {{"model", strings({"Tide gauge"})}, {"empty", ""}}},
                      {"/soc/gpio@1", {{"phandle", cells({1})}, {"odd", "abc"}}},
                      {"/soc/gpio@2", {}}});
}

/// The small tree's blob with a header word changed: 1 total size, 2 structure, 5 version,
/// 6 oldest compatible version.
std::string with_word(std::size_t word, std::uint32_t value) {
    return blob_of(small_tree()).replace(word * 4, 4, cells({value}));
}

std::string trouble(const std::string& blob, Limits limits = {}) {
    const auto tree = read_blob(blob, limits);
    REQUIRE_FALSE(tree);
    return tree.error().text;
}

/// A blob of nothing but this structure.
std::string of_structure(const std::string& structure) {
    const auto size = static_cast<std::uint32_t>(structure.size());
    return cells({0xd00dfeed, 58 + size, 56, 56 + size, 40, 17, 16, 0, 2, size}) +
           std::string(16, '\0') + structure + std::string("x\0", 2);
}

}  // namespace

TEST_CASE("a blob is read as the tree it was made of", "[devicetree]") {
    const Tree tree = small_tree();
    const auto read = read_blob(blob_of(tree));
    REQUIRE(read);
    CHECK(lines_of(*read) == lines_of(tree));
    CHECK(read->by_phandle(1) == read->find("/soc/gpio@1"));
}

TEST_CASE("a blob may be followed by anything and may be of format 16", "[devicetree]") {
    const Lines wanted = lines_of(small_tree());
    CHECK(lines_of(*read_blob(blob_of(small_tree()) + std::string(1000, '\xff'))) == wanted);
    CHECK(lines_of(*read_blob(with_word(5, 16))) == wanted);
    CHECK(lines_of(*read_blob(with_word(5, 18))) == wanted);
}

TEST_CASE("what is no blob says why", "[devicetree]") {
    CHECK_THAT(trouble(""), ContainsSubstring("shorter than a blob's header"));
    CHECK_THAT(trouble("ELF" + std::string(100, 'x')), ContainsSubstring("d0 0d fe ed"));
    CHECK_THAT(trouble(with_word(5, 3)), ContainsSubstring("format version 3; 16 and 17"));
    CHECK_THAT(trouble(with_word(6, 18)), ContainsSubstring("16 and 17 can be read"));
    CHECK_THAT(trouble(with_word(2, 57)), ContainsSubstring("not aligned"));
    CHECK_THAT(trouble(with_word(2, 0x7ffffffc)), ContainsSubstring("header is broken"));
    const std::string whole = blob_of(small_tree());
    CHECK_THAT(trouble(whole.substr(0, whole.size() - 1)),
               Equals("the device-tree blob is cut short: it says that it has " +
                      std::to_string(whole.size()) + " bytes, and there are " +
                      std::to_string(whole.size() - 1)));
}

TEST_CASE("a broken structure says where", "[devicetree]") {
    const std::string root_begin = cells({1, 0});
    CHECK(read_blob(of_structure(root_begin + cells({2, 9}))));
    CHECK_THAT(trouble(of_structure(cells({9}))), Equals("the device tree has no node"));
    CHECK_THAT(trouble(of_structure(root_begin + cells({9}))), ContainsSubstring("ends inside"));
    CHECK_THAT(trouble(of_structure(root_begin + cells({2, 2, 9}))), ContainsSubstring("leaves"));
    CHECK_THAT(trouble(of_structure(root_begin + cells({2, 1, 0, 2, 9}))),
               ContainsSubstring("second root"));
    CHECK_THAT(trouble(of_structure(root_begin + cells({2}))),
               ContainsSubstring("structure is broken"));
    CHECK_THAT(trouble(of_structure(root_begin + cells({7, 2, 9}))),
               ContainsSubstring("(at byte 8 of its structure)"));
    CHECK_THAT(trouble(of_structure(root_begin + cells({3, 0, 99, 2, 9}))),
               ContainsSubstring("broken property"));
    CHECK_THAT(trouble(of_structure(root_begin + cells({3, 0xfffffff0, 0, 2, 9}))),
               ContainsSubstring("broken"));
}

TEST_CASE("a blob is held to the limits", "[devicetree]") {
    CHECK_THAT(trouble(blob_of(small_tree()), {.bytes = 100}),
               Equals("the device-tree blob is larger than 100 bytes"));
    CHECK_THAT(trouble(blob_of(small_tree()), {.nodes = 2}),
               ContainsSubstring("more than 2 nodes"));
    std::string deep;
    for (int i = 0; i < 1000; ++i) {
        deep += cells({1}) + std::string(i == 0 ? "\0\0\0\0" : "n\0\0\0", 4);
    }
    CHECK_THAT(trouble(of_structure(deep)), ContainsSubstring("nested deeper than 64 nodes"));
}

TEST_CASE("no overlay leaves a base as it is, and a broken one is named", "[devicetree]") {
    const std::string base = blob_of(small_tree());
    CHECK(lines_of(*read_blob(*apply_overlays(base, {}))) == lines_of(small_tree()));
    CHECK_THAT(apply_overlays("x", {}).error().text, ContainsSubstring("no device-tree blob"));
    const std::vector<Overlay> broken{{"front-panel", base.substr(0, 60)}};
    CHECK_THAT(apply_overlays(base, broken).error().text,
               ContainsSubstring("overlay front-panel: the device-tree blob is cut short"));
}
