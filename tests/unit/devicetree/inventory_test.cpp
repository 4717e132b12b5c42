// SPDX-License-Identifier: MIT
#include "devicetree/inventory.hpp"
#include "devicetree/led_name.hpp"
#include "support/tree_made.hpp"
#include "support/tree_text.hpp"

#include <chrono>
#include <iostream>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::devicetree;
using nightlatch::test::cells;
using nightlatch::test::lines_of;
using nightlatch::test::made_tree;
using nightlatch::test::MadeNode;
using nightlatch::test::strings;

namespace {

using Lines = std::vector<std::string>;
using Properties = std::vector<std::pair<std::string, std::string>>;

MadeNode gpio(const std::string& path, std::uint32_t phandle, const Properties& more = {}) {
    MadeNode node{path,
                  {{"compatible", strings({"v,gpio"})},
                   {"gpio-controller", ""},
                   {"#gpio-cells", cells({2})},
                   {"phandle", cells({phandle})}}};
    node.properties.insert(node.properties.end(), more.begin(), more.end());
    return node;
}

Properties bus() {
    return {{"#address-cells", cells({1})}, {"#size-cells", cells({0})}};
}

/// What there is besides controllers.
Lines besides_controllers(const std::vector<MadeNode>& nodes) {
    const Tree tree = made_tree(nodes);
    Lines lines = lines_of(tree, take_inventory(tree));
    std::erase_if(lines, [](const std::string& line) { return line.starts_with("controller"); });
    lines.pop_back();
    return lines;
}

}  // namespace

TEST_CASE("the root says what board it is", "[devicetree]") {
    const Tree tree = made_tree({{"/",
                                  {{"model", strings({"Tide gauge, harbour pontoon"})},
                                   {"compatible", strings({"v,gauge", "v,soc"})}}}});
    const Inventory all = take_inventory(tree);
    CHECK(all.model == "Tide gauge, harbour pontoon");
    CHECK(all.compatible == Lines{"v,gauge", "v,soc"});
    CHECK(take_inventory(Tree()).controllers.empty());
}

TEST_CASE("a post-halt node has the driver's delays where it states none", "[devicetree]") {
    CHECK(
        besides_controllers(
            {gpio("/gpio", 1),
             {"/off", {{"compatible", strings({"gpio-poweroff"})}, {"gpios", cells({1, 6, 0})}}},
             {"/own",
              {{"compatible", strings({"gpio-poweroff"})},
               {"gpios", cells({1, 7, 1})},
               {"active-delay-ms", cells({200})},
               {"inactive-delay-ms", cells({0})},
               {"timeout-ms", cells({20000})},
               {"priority", cells({129})},
               {"input", ""},
               {"force", ""},
               {"status", strings({"disabled"})}}},
             {"/lineless", {{"compatible", strings({"gpio-poweroff"})}}}}) ==
        Lines{"post-halt /off 100/100/3000 priority - -> /gpio 6 0",
              "post-halt /own (disabled) 200/0/20000 stated input force priority 129 -> /gpio 7 1",
              "post-halt /lineless 100/100/3000 priority - /lineless names no line: it has "
              "neither gpios nor gpio"});
}

TEST_CASE("keys are the children of gpio-keys, interrupts only among them", "[devicetree]") {
    CHECK(besides_controllers(
              {gpio("/gpio", 1),
               {"/keys", {{"compatible", strings({"gpio-keys"})}}},
               {"/keys/power",
                {{"linux,code", cells({116})},
                 {"label", strings({"Power"})},
                 {"gpios", cells({1, 3, 1})}}},
               {"/keys/lid", {{"linux,code", cells({0})}, {"linux,input-type", cells({5})}}},
               {"/polled",
                {{"compatible", strings({"gpio-keys-polled"})}, {"status", strings({"disabled"})}}},
               {"/polled/a", {{"linux,code", cells({30})}, {"gpios", cells({1, 4, 0})}}},
               {"/elsewhere/power", {{"linux,code", cells({116})}}}}) ==
          Lines{"key /keys/power Power 1:116 -> /gpio 3 1",
                "key /keys/lid lid 5:0",
                "key /polled/a (disabled) a 1:30 polled -> /gpio 4 0"});
}

TEST_CASE("an LED is called as the kernel calls it", "[devicetree]") {
    const Tree tree = made_tree(
        {{"/l/led@1", {}},
         {"/l/labelled", {{"label", strings({"pontoon:red:front"})}, {"color", cells({1})}}},
         {"/l/broken-label", {{"label", "x"}, {"color", cells({1})}}},
         {"/l/color", {{"color", cells({0})}}},
         {"/l/function", {{"function", strings({"status"})}}},
         {"/l/both", {{"function", strings({"status"})}, {"color", cells({14})}}},
         {"/l/number",
          {{"function", strings({"lan"})},
           {"color", cells({2})},
           {"function-enumerator", cells({1})}}},
         {"/l/number-only", {{"color", cells({2})}, {"function-enumerator", cells({1})}}},
         {"/l/no-color", {{"color", cells({15})}}},
         {"/l/long", {{"label", std::string(100, 'x') + '\0'}}}});
    const auto name = [&](const std::string& node) {
        return led_name(tree, tree.find("/l/" + node));
    };
    CHECK(name("led@1") == "led");
    CHECK(name("labelled") == "pontoon:red:front");
    CHECK(name("broken-label") == "broken-label");
    CHECK(name("color") == "white:");
    CHECK(name("function") == ":status");
    CHECK(name("both") == "lime:status");
    CHECK(name("number") == "green:lan-1");
    CHECK(name("number-only") == "green:");
    CHECK(name("no-color") == "no-color");
    CHECK(name("long") == std::string(63, 'x'));
}

TEST_CASE("LEDs are the children of gpio-leds", "[devicetree]") {
    CHECK(besides_controllers(
              {gpio("/gpio", 1),
               {"/leds", {{"compatible", strings({"gpio-leds"})}}},
               {"/leds/front", {{"gpios", cells({1, 9, 0})}, {"retain-state-shutdown", ""}}},
               {"/leds/back", {{"gpios", cells({99, 9, 0})}}}}) ==
          Lines{"led /leds/front front stays -> /gpio 9 0", "led /leds/back back"});
}

TEST_CASE("a hog's lines are its controller's, without a phandle", "[devicetree]") {
    CHECK(besides_controllers(
              {gpio("/gpio", 1),
               {"/gpio/two",
                {{"gpio-hog", ""}, {"gpios", cells({4, 0, 5, 1, 6})}, {"output-high", ""}}},
               {"/gpio/off",
                {{"gpio-hog", ""},
                 {"gpios", cells({7, 0})},
                 {"input", ""},
                 {"status", strings({"disabled"})}}},
               {"/gpio/vague", {{"gpio-hog", ""}, {"gpios", cells({8, 0})}}},
               {"/elsewhere", {{"gpio-hog", ""}, {"gpios", cells({1, 0})}}}}) ==
          Lines{"hog /gpio/two output-high -> /gpio 4 0",
                "hog /gpio/two output-high -> /gpio 5 1",
                "hog /gpio/off (disabled) input -> /gpio 7 0",
                "hog /gpio/vague  -> /gpio 8 0"});
}

TEST_CASE("any other property that names lines is a use, but not in tables of labels",
          "[devicetree]") {
    CHECK(besides_controllers(
              {gpio("/gpio", 1),
               {"/card", {{"cd-gpios", cells({1, 1, 0, 0, 1, 2, 1})}, {"gpio", cells({1, 3, 0})}}},
               {"/aliases", {{"gpio", cells({1, 4, 0})}}},
               {"/__symbols__", {{"x-gpios", cells({1, 5, 0})}}},
               {"/__local_fixups__/card", {{"cd-gpios", cells({1, 0, 0})}}},
               {"/off", {{"status", strings({"disabled"})}}},
               {"/off/below", {{"reset-gpio", cells({1, 6, 0})}}}}) ==
          Lines{"use /card cd-gpios -> /gpio 1 0",
                "use /card cd-gpios -> /gpio 2 1",
                "use /card gpio -> /gpio 3 0",
                "use /off/below (disabled) reset-gpio -> /gpio 6 0"});
}

TEST_CASE("a chip that takes part in power-off says so, by the old names too", "[devicetree]") {
    CHECK(besides_controllers(
              {{"/pmic", {{"compatible", strings({"v,pmic"})}, {"system-power-controller", ""}}},
               {"/old", {{"v,system-power-controller", ""}, {"status", strings({"disabled"})}}},
               {"/other", {{"not-a-system-power-controller", ""}, {"system-power", ""}}}}) ==
          Lines{"power controller /pmic v,pmic", "power controller /old (disabled) "});
}

TEST_CASE("the newest PSCI that an enabled node claims counts", "[devicetree]") {
    const auto psci = [](const Properties& properties) {
        return take_inventory(made_tree({{"/psci", properties}})).psci;
    };
    CHECK(psci({{"compatible", strings({"arm,psci-1.0", "arm,psci-0.2", "arm,psci"})}}) == "1.0");
    CHECK(psci({{"compatible", strings({"arm,psci", "arm,psci-0.2"})}}) == "0.2");
    CHECK(psci({{"compatible", strings({"arm,psci"})}}) == "0.1");
    CHECK(psci({{"compatible", strings({"arm,psci-1.0"})}, {"status", strings({"fail"})}}).empty());
    CHECK(psci({}).empty());
}

TEST_CASE("a controller behind a bus whose transfers sleep is known by that bus", "[devicetree]") {
    const auto sleeps = [](const std::string& path, const Properties& above) {
        const std::string parent = path.substr(0, path.find('/', 1));
        const Tree tree = made_tree({{parent, above}, gpio(path, 1)});
        return take_inventory(tree).controllers.at(0).sleeps;
    };
    for (const std::string name :
         {"i2c@1", "i2c0mux", "i2c-gpio", "spi@2", "spi4", "i3c@1", "rsb@3", "slim@4", "mdio"}) {
        CHECK(sleeps("/" + name + "/expander@20", bus()));
        CHECK(sleeps("/" + name + "/pmic@20/gpio", bus()));
    }
    CHECK_FALSE(sleeps("/soc/gpio@1", bus()));
    CHECK_FALSE(sleeps("/spmi@1/pmic@0/gpio", bus()));
    // Only the name is that of a bus.
    CHECK_FALSE(sleeps("/i2c0-pins/gpio", {}));
    CHECK_FALSE(sleeps("/spidev@0/gpio", {}));
    CHECK_FALSE(
        sleeps("/spi@1/gpio", {{"#address-cells", cells({1})}, {"#size-cells", cells({1})}}));
    const Tree firmware = made_tree({{"/firmware/gpio",
                                      {{"compatible", strings({"raspberrypi,firmware-gpio"})},
                                       {"gpio-controller", ""},
                                       {"#gpio-cells", cells({2})}}}});
    CHECK(take_inventory(firmware).controllers.at(0).sleeps);
}

TEST_CASE("lines are found by name, all of that name, and tell theirs", "[devicetree]") {
    const Tree tree =
        made_tree({gpio("/a", 1, {{"gpio-line-names", strings({"", "DOOR", "FRONT_BUTTON"})}}),
                   gpio("/b", 2, {{"gpio-line-names", strings({"DOOR"})}, {"ngpios", cells({8})}}),
                   gpio("/c", 3)});
    const Inventory all = take_inventory(tree);
    const NodeId a = tree.find("/a");
    CHECK((lines_named(all, "DOOR") == std::vector<GpioLine>{{a, 1, 0}, {tree.find("/b"), 0, 0}}));
    CHECK(lines_named(all, "").empty());
    CHECK(lines_named(all, "door").empty());
    CHECK(line_name(all, {a, 2, 1}) == "FRONT_BUTTON");
    for (const GpioLine& nameless :
         {GpioLine{a, 0, 0}, GpioLine{a, 3, 0}, GpioLine{tree.find("/c"), 0, 0}, GpioLine{}}) {
        CHECK(line_name(all, nameless).empty());
    }
    CHECK(all.controllers.at(1).ngpios == 8U);
    CHECK_FALSE(all.controllers.at(0).ngpios);
}

TEST_CASE("a tree of five thousand nodes is taken in one go", "[devicetree]") {
    std::vector<MadeNode> nodes{gpio("/soc/gpio@0", 1)};
    for (std::uint32_t i = 1; nodes.size() < 4'998; ++i) {
        const std::string path = "/soc/device@" + std::to_string(i);
        nodes.push_back({path,
                         {{"compatible", strings({"v,device-two", "v,device"})},
                          {"reg", cells({i, 4})},
                          {"interrupts", cells({0, i, 4})},
                          {"clocks", cells({1000, i})},
                          {"clock-names", strings({"core"})},
                          {"pinctrl-0", cells({1001})},
                          {"pinctrl-names", strings({"default"})},
                          {"reset-gpios", cells({1, i % 64, 1})},
                          {"phandle", cells({i + 1})},
                          {"status", strings({i % 3 == 0 ? "disabled" : "okay"})}}});
    }
    const Tree tree = made_tree(nodes);
    REQUIRE(tree.size() == 5'000);
    const auto begin = std::chrono::steady_clock::now();
    const Inventory all = take_inventory(tree);
    const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - begin;
    std::cout << "an inventory of " << tree.size() << " nodes: " << took.count() << " ms\n";
    CHECK(all.others.size() == 4'997);
    CHECK(all.controllers.size() == 1);
}
