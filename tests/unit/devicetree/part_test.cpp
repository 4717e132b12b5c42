// SPDX-License-Identifier: MIT
#include "devicetree/part.hpp"
#include "support/tree_made.hpp"
#include "support/tree_text.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using devicetree::NodeId;
using devicetree::Tree;

namespace {

Tree harbour() {
    return test::made_tree({{"/aft", {{"status", "okay"}}},
                            {"/aft/lamp", {{"phandle", test::cells({3})}}},
                            {"/aft/lamp/lens", {}},
                            {"/aft/pump", {}},
                            {"/fore", {}},
                            {"/fore/lamp", {{"phandle", test::cells({4})}}}});
}

Tree part(const Tree& tree, std::initializer_list<const char*> paths) {
    std::vector<bool> wanted(tree.size(), false);
    for (const char* const path : paths) {
        wanted[tree.find(path)] = true;
    }
    return devicetree::part_of(tree, wanted);
}

std::string paths_of(const Tree& tree) {
    std::string text;
    for (NodeId id = devicetree::root; id < tree.size(); ++id) {
        text += tree.path_of(id) + " ";
    }
    return text;
}

}  // namespace

TEST_CASE("a part has what is wanted and what is above it, in the tree's order", "[tree]") {
    const Tree tree = harbour();
    CHECK(paths_of(part(tree, {})) == "/ ");
    const Tree lamp = part(tree, {"/fore/lamp", "/aft/lamp"});
    CHECK(paths_of(lamp) == "/ /aft /aft/lamp /fore /fore/lamp ");
    CHECK(lamp.by_phandle(3) == lamp.find("/aft/lamp"));
    CHECK(lamp.by_phandle(4) == lamp.find("/fore/lamp"));
    CHECK(*lamp.value(lamp.find("/aft"), "status") == "okay");
}

TEST_CASE("the part that has all of it is the tree", "[tree]") {
    const Tree tree = harbour();
    const Tree whole = devicetree::part_of(tree, std::vector<bool>(tree.size(), true));
    CHECK(test::lines_of(whole) == test::lines_of(tree));
}
