// SPDX-License-Identifier: MIT
// Rows as the bindings have them [linux Documentation/devicetree/bindings/pinctrl].
#include "devicetree/chip_label.hpp"
#include "devicetree/pads.hpp"
#include "support/tree_made.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::devicetree;
using nightlatch::test::cells;
using nightlatch::test::made_tree;
using nightlatch::test::MadeNode;
using nightlatch::test::strings;

namespace {

MadeNode user(std::uint32_t state) {
    return {"/gauge", {{"pinctrl-0", cells({state})}}};
}

/// "function gpio?" of each setting of the line's pad.
std::string settings(const Tree& tree, const char* controller, std::uint32_t offset) {
    std::string text;
    const Pad pad = pad_of(tree, {tree.find(controller), offset, 0});
    for (const PadSetting& one : pad.settings) {
        text += tree.path_of(one.user) + " " + one.row.function +
                (!one.row.gpio   ? " ?"
                 : *one.row.gpio ? " gpio"
                                 : " other") +
                ";";
    }
    return text;
}

Tree brcm(std::vector<std::pair<std::string, std::string>> group) {
    group.emplace_back("phandle", cells({7}));
    return made_tree({{"/pins", {{"compatible", strings({"brcm,bcm2711-gpio"})}}},
                      {"/pins/serial", group},
                      user(7)});
}

MadeNode imx_pins(const char* compatible, std::uint32_t mux) {
    return {
        "/iomuxc",
        {{"compatible", strings({compatible})}, {"phandle", cells({5})}, {"mux", cells({mux})}}};
}

Tree imx(const char* compatible, std::uint32_t mux_register, std::uint32_t mux) {
    return made_tree(
        {imx_pins(compatible, mux),
         {"/iomuxc/group",
          {{"fsl,pins", cells({0x10, 0x324, 0, 1, 0, 0, mux_register, 0x400, 0, mux, 0, 0x1b0b0})},
           {"phandle", cells({7})}}},
         {"/gpio",
          {{"compatible", strings({"fsl,imx35-gpio"})},
           {"gpio-ranges", cells({5, 0, 4, 2, 5, 2, 40, 6})}}},
         user(7)});
}

Tree single(bool range) {
    MadeNode pins{"/pins",
                  {{"compatible", strings({"pinctrl-single"})},
                   {"#pinctrl-cells", cells({2})},
                   {"pinctrl-single,register-width", cells({32})},
                   {"phandle", cells({5})}}};
    if (range) {
        pins.properties.emplace_back("pinctrl-single,gpio-range", cells({5, 0, 8, 7}));
    }
    return made_tree(
        {{"/", {{"compatible", strings({"pontoon,gauge", "ti,am33xx"})}}},
         pins,
         {"/pins/group",
          {{"pinctrl-single,pins", cells({0x8, 0x8, 7, 0xc, 0x28, 0x3})}, {"phandle", cells({7})}}},
         {"/gpio", {{"gpio-ranges", cells({5, 0, 2, 8})}}},
         user(7)});
}

}  // namespace

TEST_CASE("a pad's setting is read as brcm,pins have it", "[devicetree][pads]") {
    const Tree tree = brcm({{"brcm,pins", cells({14, 15})}, {"brcm,function", cells({2})}});
    CHECK(settings(tree, "/pins", 14) == "/gauge alt5 other;");
    CHECK(settings(tree, "/pins", 13).empty());
    CHECK(settings(brcm({{"brcm,pins", cells({4, 6})}, {"brcm,function", cells({4, 1})}}),
                   "/pins",
                   6) == "/gauge gpio_out gpio;");
    CHECK(settings(brcm({{"pins", strings({"gpio36", "gpio37"})}, {"function", strings({"alt2"})}}),
                   "/pins",
                   37) == "/gauge alt2 other;");
    CHECK(
        settings(brcm({{"brcm,pins", cells({6})}, {"brcm,pull", cells({2})}}), "/pins", 6).empty());
    CHECK(pad_of(tree, {tree.find("/pins"), 14, 0}).request_switches);
}

TEST_CASE("a pad's setting is read as rockchip,pins have it", "[devicetree][pads]") {
    const Tree tree =
        made_tree({{"/aliases", {{"gpio2", strings({"/pinctrl/gpio@2"})}}},
                   {"/pinctrl", {{"compatible", strings({"rockchip,rk3399-pinctrl"})}}},
                   {"/pinctrl/gpio@1", {{"gpio-controller", ""}}},
                   {"/pinctrl/gpio@2", {{"gpio-controller", ""}}},
                   {"/pinctrl/uart/xfer",
                    {{"rockchip,pins", cells({2, 3, 1, 9, 0, 5, 0, 9})}, {"phandle", cells({7})}}},
                   user(7)});
    CHECK(settings(tree, "/pinctrl/gpio@2", 3) == "/gauge mux 1 other;");
    CHECK(settings(tree, "/pinctrl/gpio@1", 5) == "/gauge mux 0 gpio;");
    CHECK(settings(tree, "/pinctrl/gpio@1", 3).empty());
}

TEST_CASE("a pad's setting is read as fsl,pins have it, and a request leaves it as it is",
          "[devicetree][pads]") {
    const Tree tree = imx("fsl,imx6q-iomuxc", 0xa4, 3);
    CHECK(settings(tree, "/gpio", 3) == "/gauge mux 3 other;");
    CHECK(settings(tree, "/gpio", 0) == "/gauge mux 1 other;");
    CHECK(settings(tree, "/gpio", 4).empty());
    CHECK(settings(imx("fsl,imx6q-iomuxc", 0xa4, 0x15), "/gpio", 3) == "/gauge mux 5 gpio;");
    CHECK(settings(imx("fsl,imx51-iomuxc", 0xa4, 3), "/gpio", 3) == "/gauge mux 3 ?;");
    CHECK_FALSE(pad_of(tree, {tree.find("/gpio"), 3, 0}).request_switches);
}

TEST_CASE("a pad's setting is read as pinctrl-single,pins have it", "[devicetree][pads]") {
    const Tree tree = single(false);
    CHECK(settings(tree, "/gpio", 0) == "/gauge mux 7 gpio;");
    CHECK(settings(tree, "/gpio", 1) == "/gauge mux 3 other;");
    CHECK_FALSE(pad_of(tree, {tree.find("/gpio"), 0, 0}).request_switches);
    const Tree with = single(true);
    CHECK(pad_of(with, {with.find("/gpio"), 0, 0}).request_switches);
}

TEST_CASE("other pin controllers are not guessed at", "[devicetree][pads]") {
    const Tree tree = made_tree(
        {{"/pins", {{"compatible", strings({"pontoon,pins"})}, {"phandle", cells({5})}}},
         {"/pins/group",
          {{"pins", strings({"gpio3"})}, {"function", strings({"uart"})}, {"phandle", cells({7})}}},
         {"/gpio", {{"gpio-ranges", cells({5, 0, 0, 8})}}},
         user(7)});
    const Pad pad = pad_of(tree, {tree.find("/gpio"), 3, 0});
    CHECK(pad.form == PadForm::unknown);
    CHECK(pad.settings.empty());
    CHECK(pad.request_switches);
}

TEST_CASE("a firmware that sets pads sets none at a request", "[devicetree][pads]") {
    const Tree tree = imx("fsl,imx8qxp-iomuxc", 0xa4, 3);
    const Pad pad = pad_of(tree, {tree.find("/gpio"), 3, 0});
    CHECK_FALSE(pad.request_switches);
    CHECK(pad.form == PadForm::unknown);
    CHECK(pad.settings.empty());
}

TEST_CASE("a disabled node sets no pad", "[devicetree][pads]") {
    const Tree tree = made_tree(
        {{"/pins", {{"compatible", strings({"brcm,bcm2711-gpio"})}}},
         {"/pins/serial",
          {{"brcm,pins", cells({14})}, {"brcm,function", cells({2})}, {"phandle", cells({7})}}},
         {"/gauge", {{"pinctrl-0", cells({7})}, {"status", strings({"disabled"})}}}});
    CHECK(settings(tree, "/pins", 14).empty());
}

TEST_CASE("a chip's label is the one that its driver gives it", "[devicetree][label]") {
    const Tree tree =
        made_tree({{"/", {{"#address-cells", cells({2})}, {"#size-cells", cells({1})}}},
                   {"/aliases", {{"gpio4", strings({"/bank@1"})}}},
                   {"/bank@1", {{"compatible", strings({"rockchip,gpio-bank"})}}},
                   {"/soc",
                    {{"#address-cells", cells({1})},
                     {"#size-cells", cells({1})},
                     {"ranges", cells({0x7e000000, 0, 0xfe000000, 0x1800000})}}},
                   {"/soc/gpio@7e200000",
                    {{"compatible", strings({"brcm,bcm2711-gpio"})},
                     {"reg", cells({0x7e200000, 0xb4})},
                     {"gpio-ranges", cells({1, 0, 0, 58})}}},
                   {"/soc/gpio@7e300000",
                    {{"compatible", strings({"pontoon,gpio"})}, {"reg", cells({0x7e300000, 4})}}},
                   {"/soc/few@0", {{"ngpios", cells({5})}}}});
    CHECK(chip_labels(tree, tree.find("/bank@1")) == std::vector<std::string>{"gpio4"});
    CHECK(chip_labels(tree, tree.find("/soc/gpio@7e200000")) ==
          std::vector<std::string>{"pinctrl-bcm2711"});
    CHECK(chip_labels(tree, tree.find("/soc/gpio@7e300000")) ==
          std::vector<std::string>{"fe300000.gpio", "7e300000.gpio"});
    CHECK(line_count(tree, tree.find("/soc/gpio@7e200000")) == 58);
    CHECK(line_count(tree, tree.find("/soc/few@0")) == 5);
    CHECK_FALSE(line_count(tree, tree.find("/bank@1")));
}
