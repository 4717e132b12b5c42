// SPDX-License-Identifier: MIT
#include "audit/tree_uses.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using lines::TreeUse;
using lines::TreeUseKind;

namespace {

devicetree::Tree tree_with_uses() {
    devicetree::Builder builder;
    const auto node = [&builder](const char* name) { REQUIRE(builder.enter(name)); };
    const auto leave = [&builder] { REQUIRE(builder.leave()); };
    node("");
    node("gpio@10");
    leave();
    for (const char* name : {"supply-release", "keys", "leds", "hog", "mmc"}) {
        node(name);
        leave();
    }
    leave();
    Result<devicetree::Tree> tree = builder.finish();
    REQUIRE(tree);
    return std::move(*tree);
}

}  // namespace

TEST_CASE("uses are those of enabled nodes, with the paths of both ends", "[lines]") {
    const devicetree::Tree tree = tree_with_uses();
    const devicetree::NodeId controller = tree.find("/gpio@10");
    const auto line = [controller](std::uint32_t offset) {
        return devicetree::GpioLine{controller, offset, 0};
    };
    devicetree::Inventory inventory;
    devicetree::PostHaltNode post_halt;
    post_halt.node = tree.find("/supply-release");
    post_halt.line = line(6);
    inventory.post_halt.push_back(post_halt);
    post_halt.line = Unexpected{std::string("no line")};
    inventory.post_halt.push_back(post_halt);
    devicetree::Key key;
    key.node = tree.find("/keys");
    key.line = line(1);
    inventory.keys.push_back(key);
    key.enabled = false;
    inventory.keys.push_back(key);
    key.enabled = true;
    key.line.reset();  // an interrupt only
    inventory.keys.push_back(key);
    devicetree::Led led;
    led.node = tree.find("/leds");
    led.line = line(5);
    inventory.leds.push_back(led);
    devicetree::Hog hog;
    hog.node = tree.find("/hog");
    hog.lines = {line(2), line(3)};
    inventory.hogs.push_back(hog);
    inventory.others.push_back({tree.find("/mmc"), true, "cd-gpios", line(7)});

    const std::vector<TreeUse> uses = audit::tree_uses(tree, inventory);
    REQUIRE(uses.size() == 6);
    const auto is = [&uses](std::size_t at, TreeUseKind kind, unsigned offset, const char* by) {
        return uses[at].kind == kind && uses[at].offset == offset && uses[at].by == by &&
               uses[at].controller == "/gpio@10";
    };
    CHECK(is(0, TreeUseKind::post_halt, 6, "/supply-release"));
    CHECK(is(1, TreeUseKind::key, 1, "/keys"));
    CHECK(is(2, TreeUseKind::led, 5, "/leds"));
    CHECK(is(3, TreeUseKind::hog, 2, "/hog"));
    CHECK(is(4, TreeUseKind::hog, 3, "/hog"));
    CHECK(is(5, TreeUseKind::other, 7, "/mmc (cd-gpios)"));
}
