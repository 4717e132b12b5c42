// SPDX-License-Identifier: MIT
#include "devicetree/gpio.hpp"
#include "support/tree_made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch::devicetree;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::Equals;
using nightlatch::test::cells;
using nightlatch::test::made_tree;
using nightlatch::test::MadeNode;
using nightlatch::test::strings;

namespace {

MadeNode controller(const std::string& path,
                    std::uint32_t phandle,
                    std::uint32_t count,
                    std::string_view compatible) {
    return {path,
            {{"phandle", cells({phandle})},
             {"#gpio-cells", cells({count})},
             {"gpio-controller", ""},
             {"compatible", strings({compatible})}}};
}

/// What the property makes of a tree with controllers of several kinds.
std::vector<GpioEntry> entries(const std::string& value) {
    static Tree tree;
    tree = made_tree({controller("/two", 1, 2, "v,gpio"),
                      controller("/one", 2, 1, "v,simple"),
                      controller("/sunxi", 3, 3, "allwinner,sun50i-a64-pinctrl"),
                      controller("/pmic", 4, 2, "qcom,spmi-gpio"),
                      controller("/tegra", 5, 2, "nvidia,tegra194-gpio"),
                      controller("/banks", 6, 3, "v,banks"),
                      controller("/none", 7, 0, "v,none"),
                      controller("/many", 8, 17, "v,many"),
                      {"/other", {{"phandle", cells({9})}}},
                      {"/user", {{"reset-gpios", value}}}});
    return gpios(tree, tree.find("/user"), "reset-gpios");
}

GpioLine only_line(const std::string& value) {
    const std::vector<GpioEntry> all = entries(value);
    REQUIRE(all.size() == 1);
    REQUIRE(all.front());
    return *all.front();
}

std::string only_sentence(const std::string& value) {
    const std::vector<GpioEntry> all = entries(value);
    REQUIRE(all.size() == 1);
    REQUIRE_FALSE(all.front());
    return all.front().error();
}

/// A connector after the example of the Devicetree Specification (2.5), before two controllers.
Tree with_connector(const std::string& map, const std::string& second = "okay") {
    return made_tree(
        {controller("/soc/gpio1", 1, 2, "v,gpio"),
         {"/soc/gpio2",
          {{"phandle", cells({2})}, {"#gpio-cells", cells({1})}, {"status", strings({second})}}},
         {"/connector",
          {{"phandle", cells({3})},
           {"#gpio-cells", cells({2})},
           {"gpio-map", map},
           {"gpio-map-mask", cells({0xf, 0x0})},
           {"gpio-map-pass-thru", cells({0x0, 0x1})}}},
         {"/user", {{"gpios", cells({3, 0, 1})}, {"b-gpios", cells({3, 2, 1})}}}});
}

}  // namespace

TEST_CASE("a specifier has as many cells as its controller says", "[devicetree]") {
    const std::vector<GpioEntry> all = entries(cells({1, 6, 1, 2, 9, 3, 2, 5, 16, 1, 7, 0}));
    REQUIRE(all.size() == 4);
    CHECK((*all[0] == GpioLine{1, 6, 1}));
    CHECK((*all[1] == GpioLine{2, 9, 0}));
    CHECK((*all[2] == GpioLine{3, 2 * 32 + 5, 16}));
    CHECK((*all[3] == GpioLine{1, 7, 0}));
    CHECK(all[0]->active_low());
    CHECK_FALSE(all[2]->active_low());
}

TEST_CASE("pins that a driver counts from 1 are counted from 0 like lines", "[devicetree]") {
    CHECK(only_line(cells({4, 3, 1})).offset == 2);
    CHECK_THAT(only_sentence(cells({4, 0, 1})),
               Equals("/pmic counts its pins from 1, and this is pin 0"));
}

TEST_CASE("cells that only the driver understands give a sentence, never a guess", "[devicetree]") {
    CHECK_THAT(only_sentence(cells({5, 8, 0})), ContainsSubstring("a way of its driver's own"));
    CHECK_THAT(only_sentence(cells({6, 1, 2, 0})),
               Equals("the 3 cells that /banks takes are translated in a way of its driver's own"));
    CHECK_THAT(only_sentence(cells({3, 1, 32, 0})), Equals("/sunxi has no pin 32 in a bank 1"));
    CHECK_THAT(only_sentence(cells({3, 0xffffffff, 1, 0})), ContainsSubstring("has no pin 1 in"));
}

TEST_CASE("an empty entry says so and the rest is read", "[devicetree]") {
    const std::vector<GpioEntry> all = entries(cells({0, 1, 6, 1}));
    REQUIRE(all.size() == 2);
    CHECK_THAT(all[0].error(), Equals("an empty entry (phandle 0) in reset-gpios of /user"));
    CHECK(all[1]->offset == 6);
}

TEST_CASE("what cannot be divided ends with a sentence", "[devicetree]") {
    CHECK(entries("").empty());
    CHECK_THAT(only_sentence("abc"), Equals("reset-gpios of /user is not made of whole cells"));
    for (const std::uint32_t phandle : {7U, 8U, 9U, 99U}) {
        CHECK_THAT(only_sentence(cells({phandle, 1, 0, 1, 6, 1})),
                   Equals("reset-gpios of /user names phandle " + std::to_string(phandle) +
                          ", which is not a GPIO controller's"));
    }
    CHECK_THAT(only_sentence(cells({1, 6})), Equals("reset-gpios of /user ends within an entry"));
    const std::vector<GpioEntry> all = entries(std::string(8000, '\0'));
    REQUIRE(all.size() == 1025);
    CHECK_THAT(all.back().error(), Equals("reset-gpios of /user has too many entries"));
}

TEST_CASE("a connector's map leads to the controller behind it", "[devicetree]") {
    const Tree tree = with_connector(cells({0, 0, 1, 1, 0, 1, 0, 2, 4, 2, 0, 1, 3, 0}));
    const GpioEntry line = unnamed_gpio(tree, tree.find("/user"));
    REQUIRE(line);
    // The flag passes through, the pin is translated.
    CHECK((*line == GpioLine{tree.find("/soc/gpio1"), 1, 1}));
    CHECK(gpios(tree, tree.find("/user"), "b-gpios").front()->offset == 3);
    CHECK(decode_gpio(tree, tree.find("/connector"), {1, 1})->controller ==
          tree.find("/soc/gpio2"));
    CHECK_THAT(decode_gpio(tree, tree.find("/connector"), {5, 0}).error(),
               Equals("the gpio-map of /connector has no line 5"));
}

TEST_CASE("a map entry to a disabled controller does not count", "[devicetree]") {
    const Tree tree = with_connector(cells({0, 0, 2, 4, 0, 0, 1, 7, 0, 1, 0, 2, 9}), "disabled");
    CHECK((*unnamed_gpio(tree, tree.find("/user")) == GpioLine{tree.find("/soc/gpio1"), 7, 1}));
    CHECK_FALSE(decode_gpio(tree, tree.find("/connector"), {1, 0}));
}

TEST_CASE("a map that leads in a circle or nowhere ends with a sentence", "[devicetree]") {
    const Tree circle = with_connector(cells({0, 0, 3, 0, 0}));
    CHECK_THAT(unnamed_gpio(circle, circle.find("/user")).error(),
               ContainsSubstring("in a circle"));
    for (const std::string& map :
         {cells({0, 0, 99, 0, 0}), cells({0, 0, 1, 0}), std::string("abc")}) {
        const Tree broken = with_connector(map);
        CHECK_THAT(unnamed_gpio(broken, broken.find("/user")).error(),
                   Equals("the gpio-map of /connector cannot be read"));
    }
}

TEST_CASE("the unnamed line is the first of gpios, else of gpio", "[devicetree]") {
    const Tree tree =
        made_tree({controller("/c", 1, 2, "v,gpio"),
                   {"/both", {{"gpio", cells({1, 2, 0})}, {"gpios", cells({1, 1, 0})}}},
                   {"/older", {{"gpio", cells({1, 2, 0})}}},
                   {"/empty", {{"gpios", ""}, {"gpio", cells({1, 2, 0})}}},
                   {"/neither", {}}});
    CHECK(unnamed_gpio(tree, tree.find("/both"))->offset == 1);
    CHECK(unnamed_gpio(tree, tree.find("/older"))->offset == 2);
    CHECK(unnamed_gpio(tree, tree.find("/empty"))->offset == 2);
    CHECK_THAT(unnamed_gpio(tree, tree.find("/neither")).error(),
               Equals("/neither names no line: it has neither gpios nor gpio"));
}

TEST_CASE("decoding asks for the number of cells that the controller takes", "[devicetree]") {
    const Tree tree = made_tree({controller("/c", 1, 2, "v,gpio"), {"/d", {}}});
    CHECK(decode_gpio(tree, tree.find("/c"), {1, 0}));
    for (const std::vector<std::uint32_t>& wrong : {std::vector<std::uint32_t>{}, {1}, {1, 0, 0}}) {
        CHECK_THAT(
            decode_gpio(tree, tree.find("/c"), wrong).error(),
            Equals("/c does not take " + std::to_string(wrong.size()) + " cells for a line"));
    }
    CHECK_FALSE(decode_gpio(tree, tree.find("/d"), {1, 0}));
}

TEST_CASE("only properties that name lines are taken for such", "[devicetree]") {
    for (const char* const name : {"gpios", "gpio", "reset-gpios", "enable-gpio", "v,x-gpios"}) {
        CHECK(names_gpios(name));
    }
    for (const char* const name : {"nr-gpios",
                                   "snps,nr-gpios",
                                   "ngpios",
                                   "gpio-controller",
                                   "gpio-ranges",
                                   "#gpio-cells",
                                   "gpios-extended",
                                   "xgpio",
                                   ""}) {
        CHECK_FALSE(names_gpios(name));
    }
}

TEST_CASE("lines are the same by controller and offset, whatever the flags", "[devicetree]") {
    CHECK((GpioLine{1, 2, 0}.same_line({1, 2, 1})));
    CHECK_FALSE((GpioLine{1, 2, 0}.same_line({2, 2, 0})));
    CHECK_FALSE((GpioLine{1, 2, 0}.same_line({1, 3, 0})));
}
