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
using nightlatch::test::MadeNode;
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

TEST_CASE("what is not a blob says why", "[devicetree]") {
    CHECK_THAT(trouble(""), ContainsSubstring("shorter than a blob's header"));
    CHECK_THAT(trouble("ELF" + std::string(100, 'x')), ContainsSubstring("d0 0d fe ed"));
    CHECK_THAT(trouble(with_word(5, 3)), ContainsSubstring("format version 3; 16 and 17"));
    CHECK_THAT(trouble(with_word(6, 18)), ContainsSubstring("16 and 17 can be read"));
    CHECK_THAT(trouble(with_word(2, 57)), ContainsSubstring("structure is not aligned"));
    CHECK_THAT(trouble(with_word(4, 44)), ContainsSubstring("reserved memory is not aligned"));
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
    CHECK_THAT(apply_overlays("x", {}).error().text, ContainsSubstring("not a device-tree blob"));
    const std::vector<Overlay> broken{{"front-panel", base.substr(0, 60)}};
    CHECK_THAT(apply_overlays(base, broken).error().text,
               ContainsSubstring("overlay front-panel: the device-tree blob is cut short"));
}

TEST_CASE("tables of references that would lead libfdt astray are refused", "[devicetree]") {
    const std::string base = blob_of(made_tree(
        {{"/a", {{"phandle", cells({1})}}}, {"/__symbols__", {{"gpio", strings({"/a"})}}}}));
    const auto apply = [&](const std::string& reference, const MadeNode& local) {
        const std::vector<Overlay> one{
            {"front-panel",
             blob_of(made_tree(
                 {{"/fragment@0", {{"target", cells({0xffffffff})}}},
                  {"/fragment@0/__overlay__/n", {{"phandle", cells({1})}, {"x", cells({1, 2})}}},
                  {"/__fixups__", {{"gpio", strings({reference})}}},
                  local}))}};
        const auto merged = apply_overlays(base, one);
        return merged ? "" : merged.error().text;
    };
    const std::string fine = "/fragment@0:target:0";
    const std::string table = "/__local_fixups__/fragment@0/__overlay__/n";
    const std::string refused =
        "overlay front-panel: its tables of references (__fixups__, __local_fixups__) are broken: "
        "compile it anew, with dtc -@";

    CHECK(apply(fine, {table, {{"x", cells({0, 4})}}}).empty());
    for (const MadeNode& local : {MadeNode{table, {{"x", cells({5})}}},
                                  MadeNode{table, {{"x", cells({0x486d0000})}}},
                                  MadeNode{table, {{"x", "abc"}}},
                                  MadeNode{table, {{"y", cells({0})}}},
                                  MadeNode{table, {{"phandle", cells({0})}}},
                                  MadeNode{table + "/m", {}},
                                  MadeNode{"/__local_fixups__/__fixups__", {}}}) {
        CHECK_THAT(apply(fine, local), Equals(refused));
    }
    for (const char* const reference : {"/fragment@0:target:-2",
                                        "/fragment@0:target:4294967294",
                                        "/fragment@0:target: 0",
                                        "/fragment@0:target:",
                                        "/fragment@0:target",
                                        "fragment@0:target:0",
                                        "/__fixups__:gpio:0",
                                        "//__fixups__:gpio:0",
                                        ""}) {
        CHECK_THAT(apply(reference, {table, {}}), Equals(refused));
    }
}
