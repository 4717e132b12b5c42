// SPDX-License-Identifier: MIT
#include "daemon/facts/live_tree.hpp"
#include "unit/facts/made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <sys/stat.h>
#include <unistd.h>

using namespace nightlatch;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::Equals;
using facts::read_live_tree;

namespace {

const std::string base = "/sys/firmware/devicetree/base";

std::string with_nul(const std::string& text) {
    return text + '\0';
}

void make_tide_logger(const test::MadeFolder& made) {
    made.file(base + "/compatible", with_nul("harbour,tide-logger"));
    made.file(base + "/soc/gpio@200/gpio-controller", "");
    made.file(base + "/soc/gpio@200/phandle", std::string("\0\0\0\7", 4));
    made.file(base + "/release/compatible", with_nul("gpio-poweroff"));
    made.file(base + "/release/gpios", std::string("\0\0\0\7\0\0\0\6\0\0\0\0", 12));
}

}  // namespace

TEST_CASE("the kernel's folders and files become nodes and raw values", "[facts]") {
    const test::MadeFolder made;
    make_tide_logger(made);
    const auto tree = read_live_tree(made.root());
    REQUIRE(tree);
    CHECK(tree->size() == 4);
    const auto gpio = tree->find("/soc/gpio@200");
    REQUIRE(gpio != devicetree::no_node);
    CHECK(tree->by_phandle(7) == gpio);
    REQUIRE(tree->value(gpio, "gpio-controller") != nullptr);
    CHECK(tree->value(gpio, "gpio-controller")->empty());
    const auto node = tree->find("/release");
    CHECK(*tree->value(node, "gpios") == std::string("\0\0\0\7\0\0\0\6\0\0\0\0", 12));
}

TEST_CASE("nodes and properties come sorted, whatever the folder's own order", "[facts]") {
    test::MadeFolder made;
    for (const char* name : {"zebra", "alpha", "mole", "beta"}) {
        made.file(base + "/" + name + "/z", "");
        made.file(base + "/" + name + "/a", "");
    }
    const auto tree = read_live_tree(made.root());
    REQUIRE(tree);
    std::string order;
    for (devicetree::NodeId id = 0; id < tree->size(); ++id) {
        order += tree->path_of(id) + " ";
    }
    CHECK(order == "/ /alpha /beta /mole /zebra ");
    CHECK(tree->node(1).properties.front().name == "a");
}

TEST_CASE("values of whole pages and of many pages are read to their ends", "[facts]") {
    for (const std::size_t size : {1UL, 4095UL, 4096UL, 4097UL, 65'536UL, 65'537UL, 300'000UL}) {
        test::MadeFolder made;
        std::string value(size, 'x');
        value.back() = 'y';
        made.file(base + "/blob", value);
        const auto tree = read_live_tree(made.root());
        REQUIRE(tree);
        CHECK(*tree->value(devicetree::root, "blob") == value);
    }
}

TEST_CASE("a machine without a device tree is told so", "[facts]") {
    const test::MadeFolder made;
    const auto tree = read_live_tree(made.root());
    REQUIRE_FALSE(tree);
    CHECK_THAT(
        tree.what_is_missing(),
        Equals("a device tree (" + made.root() + base + " is not there: this machine has none)"));
}

TEST_CASE("links, FIFOs and what the kernel shows to root alone are left out", "[facts]") {
    const test::MadeFolder made;
    make_tide_logger(made);
    made.link(base + "/soc/loop", "..");
    made.link(base + "/soc/out", "/etc");
    made.link(base + "/passwd", "/etc/passwd");
    REQUIRE(mkfifo((made.root() + base + "/pipe").c_str(), 0600) == 0);
    made.file(base + "/security-password", "secret");
    const auto tree = read_live_tree(made.root());
    REQUIRE(tree);
    CHECK(tree->size() == 4);
    CHECK(tree->node(devicetree::root).properties.size() == 1);
}

TEST_CASE("a tree with a property that may not be read is missing, not shown with a hole",
          "[facts]") {
    const test::MadeFolder made;
    make_tide_logger(made);
    const std::string path = made.root() + base + "/soc/gpio@200/phandle";
    REQUIRE(chmod(path.c_str(), 0) == 0);
    const auto tree = read_live_tree(made.root());
    if (geteuid() == 0) {
        CHECK(tree);  // nothing is denied to root
    } else {
        REQUIRE_FALSE(tree);
        CHECK_THAT(tree.what_is_missing(), Equals(path + " (denied: run as root)"));
    }
}

TEST_CASE("a tree deeper, wider or heavier than its limits is refused", "[facts]") {
    SECTION("deeper") {
        test::MadeFolder made;
        std::string path = base;
        for (int i = 0; i < 80; ++i) {
            path += "/n";
        }
        made.folder(path);
        const auto tree = read_live_tree(made.root());
        REQUIRE_FALSE(tree);
        CHECK_THAT(tree.what_is_missing(), ContainsSubstring("64"));
    }
    SECTION("wider") {
        test::MadeFolder made;
        for (int i = 0; i < 50; ++i) {
            made.folder(base + "/n" + std::to_string(i));
        }
        devicetree::Limits limits;
        limits.nodes = 40;
        CHECK_FALSE(read_live_tree(made.root(), limits));
        limits.nodes = 51;
        CHECK(read_live_tree(made.root(), limits));
    }
    SECTION("names without end") {
        test::MadeFolder made;
        for (int i = 0; i < 50; ++i) {
            made.file(base + "/" + std::to_string(i) + std::string(240, 'n'), "");
        }
        devicetree::Limits limits;
        limits.bytes = 10'000;
        const auto tree = read_live_tree(made.root(), limits);
        REQUIRE_FALSE(tree);
        CHECK_THAT(tree.what_is_missing(), ContainsSubstring("names"));
    }
    SECTION("a value without end") {
        test::MadeFolder made;
        made.file(base + "/endless", "x");
        std::filesystem::resize_file(made.root() + base + "/endless", std::uintmax_t{1} << 40U);
        const auto tree = read_live_tree(made.root());
        REQUIRE_FALSE(tree);
        CHECK_THAT(tree.what_is_missing(), ContainsSubstring("/endless (File too large)"));
    }
}

TEST_CASE("a base that is itself a link is not followed", "[facts]") {
    test::MadeFolder made;
    made.file("/elsewhere/compatible", "x");
    made.link(base, "/elsewhere");
    CHECK_FALSE(read_live_tree(made.root()));
}
