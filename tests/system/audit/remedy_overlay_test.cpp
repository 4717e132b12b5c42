// SPDX-License-Identifier: MIT
// A remedy is worth what dtc and fdtoverlay make of it: applied to the unit it is for, the audit's
// own rules must then pass.
#include "audit/audit.hpp"
#include "audit/remedy.hpp"
#include "devicetree/blob.hpp"
#include "support/good_unit.hpp"
#include "support/temporary_directory.hpp"
#include "support/tree_made.hpp"

#include <cstdlib>
#include <fstream>
#include <iterator>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;

namespace {

void write(const std::string& path, const std::string& bytes) {
    std::ofstream(path, std::ios::binary) << bytes;
}

std::string read(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    REQUIRE(file.is_open());
    return {std::istreambuf_iterator<char>(file), {}};
}

/// The unit after the overlay's source was compiled and applied, as its boot loader would.
Facts applied(const Facts& facts, const std::string& source) {
    const nightlatch::test::TemporaryDirectory folder;
    const std::string at = folder.path() + "/";
    write(at + "base.dtb", nightlatch::test::blob_of(*facts.tree));
    write(at + "o.dts", source);
    INFO(source);
    const std::string compile = "dtc -q -@ -I dts -O dtb -o " + at + "o.dtbo " + at + "o.dts";
    REQUIRE(std::system(compile.c_str()) == 0);
    const std::string apply =
        "fdtoverlay -i " + at + "base.dtb -o " + at + "new.dtb " + at + "o.dtbo";
    REQUIRE(std::system(apply.c_str()) == 0);
    Result<devicetree::Tree> tree = devicetree::read_blob(read(at + "new.dtb"));
    REQUIRE(tree);
    Facts after = facts;
    after.tree = std::move(*tree);
    const Scene scene = make_scene(after);
    REQUIRE(scene.node != nullptr);
    after.driver.bound = std::vector<std::string>{scene.tree->path_of(scene.node->node)};
    return after;
}

std::string overlay_for(const Facts& facts) {
    const Scene scene = make_scene(facts);
    const auto plan = plan_from(scene);
    REQUIRE(plan);
    return post_halt_overlay(scene, *plan, scene.node);
}

void check_repaired(const Facts& facts) {
    CHECK(judge_post_halt(facts).verdict != core::Verdict::configured);
    const VerdictResult after = judge_post_halt(applied(facts, overlay_for(facts)));
    INFO(after.reason);
    CHECK(after.verdict == core::Verdict::configured);
}

void remove_post_halt(Facts& facts) {
    remove_node(facts, post_halt_node);
    facts.driver.bound = std::vector<std::string>{};
}

}  // namespace

TEST_CASE("the overlay for a missing node compiles, applies and makes the unit configured",
          "[audit][remedy][system]") {
    Facts facts = good_unit();
    remove_post_halt(facts);
    edit_config(facts, "pulse = \"100 ms\"", "pulse = \"350 ms\"");
    SECTION("by the controller's phandle") {}
    SECTION("by the controller's label") {
        add_node(facts, "/__symbols__", {{"tide_gpio", strings({gpio})}});
    }
    SECTION("by the controller's path, when nothing refers to it") {
        remove_node(facts, "/leds");
        remove_property(facts, gpio, "phandle");
    }
    SECTION("active low") {
        edit_config(facts, "active = \"high\"", "active = \"low\"");
    }
    SECTION("on a controller with banks") {
        remove_node(facts, "/leds");
        set_property(facts, gpio, "compatible", strings({"allwinner,sun50i-a64-pinctrl"}));
        set_property(facts, gpio, "#gpio-cells", cells({3}));
    }
    check_repaired(facts);
}

TEST_CASE("the overlay for a node that is wrong compiles, applies and puts it right",
          "[audit][remedy][system]") {
    Facts facts = good_unit();
    SECTION("line") {
        set_property(facts, post_halt_node, "gpios", cells({gpio_phandle, 7, 0}));
    }
    SECTION("polarity") {
        set_property(facts, post_halt_node, "gpios", cells({gpio_phandle, post_halt_line, 1}));
    }
    SECTION("pulse") {
        set_property(facts, post_halt_node, "active-delay-ms", cells({20}));
    }
    check_repaired(facts);
}

TEST_CASE("the overlay that enables a node compiles and applies", "[audit][remedy][system]") {
    Facts facts = good_unit();
    set_property(facts, post_halt_node, "status", strings({"disabled"}));
    CHECK(judge_post_halt(facts).verdict == core::Verdict::absent);
    const Scene scene = make_scene(facts);
    const std::string source =
        change_overlay(scene, scene.tree->find(post_halt_node), {"status = \"okay\";"});
    CHECK(judge_post_halt(applied(facts, source)).verdict == core::Verdict::configured);
}
