// SPDX-License-Identifier: MIT
#include "audit/claims.hpp"
#include "audit/scene.hpp"
#include "support/good_unit.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using Catch::Matchers::ContainsSubstring;

namespace {

lines::LineName at(const char* chip, const char* line) {
    return {chip, line};
}

}  // namespace

TEST_CASE("a line is placed by its chip's label, name or path, and by name or offset",
          "[audit][scene]") {
    const Facts facts = good_unit();
    const Scene scene = make_scene(facts);
    for (const auto& where : {at("soc-gpio", "SUPPLY_RELEASE"),
                              at("gpiochip0", "6"),
                              at("/dev/gpiochip0", "SUPPLY_RELEASE"),
                              at("/soc/gpio@9030000", "6")}) {
        INFO(where.chip << " " << where.line);
        const Known<PlacedLine> line = place_line(scene, where);
        REQUIRE(line);
        CHECK(line->offset == 6);
        CHECK(line->controller == facts.tree->find(gpio));
        CHECK(line->live == &facts.chips->front().lines[6]);
        CHECK(text_of(*line) == "gpiochip0 [soc-gpio] line 6 (SUPPLY_RELEASE)");
    }
    CHECK(place_line(scene, at("float-expander", "HATCH"))->sleeps);
}

TEST_CASE("a line is placed on the chip that a link leads to", "[audit][scene]") {
    Facts facts = good_unit();
    soc_chip(facts).aliases = {"/dev/gpio-front", "/dev/gpiochip4"};
    const Scene scene = make_scene(facts);
    for (const char* chip : {"gpiochip4", "/dev/gpiochip4", "/dev/gpio-front"}) {
        INFO(chip);
        const Known<PlacedLine> line = place_line(scene, at(chip, "6"));
        REQUIRE(line);
        CHECK(line->chip_name == "gpiochip0");
    }
    CHECK(place_line(scene, at("gpio-front", "6")).what_is_missing() ==
          "there is no chip \"gpio-front\" now");
}

TEST_CASE("a label written as a path is not a chip, as it is none for the service",
          "[audit][scene]") {
    const Facts facts = good_unit();
    CHECK(place_line(make_scene(facts), at("/dev/soc-gpio", "6")).what_is_missing() ==
          "there is no chip \"/dev/soc-gpio\" now");
}

TEST_CASE("digits are an offset however many they are", "[audit][scene]") {
    const Facts facts = good_unit();
    CHECK(place_line(make_scene(facts), at("soc-gpio", "4294967296")).what_is_missing() ==
          "gpiochip0 [soc-gpio] has no line 4294967296: its 8 lines are numbered from 0");
}

TEST_CASE("a line that is not there is missing, and why is said", "[audit][scene]") {
    Facts facts = good_unit();
    soc_line(facts, 7).name = "BUZZER";
    const Scene scene = make_scene(facts);
    CHECK(place_line(scene, at("mast-gpio", "3")).what_is_missing() ==
          "there is no chip \"mast-gpio\" now");
    CHECK(place_line(scene, at("soc-gpio", "HORN")).what_is_missing() ==
          "gpiochip0 [soc-gpio] has no line named \"HORN\": it has GAUGE_DATA, GAUGE_CLOCK, "
          "LID_BUTTON, LID_LAMP, BUZZER, SUPPLY_RELEASE, BUZZER");
    CHECK_THAT(place_line(scene, at("soc-gpio", "8")).what_is_missing(),
               ContainsSubstring("its 8 lines are numbered from 0"));
    CHECK_THAT(place_line(scene, at("soc-gpio", "BUZZER")).what_is_missing(),
               ContainsSubstring("give one of the offsets 5, 7"));
    CHECK_THAT(place_line(scene, at("soc-gpio", "")).what_is_missing(),
               ContainsSubstring("no line named"));
}

TEST_CASE("chips that share a node have no line of it that is known to be theirs",
          "[audit][scene]") {
    Facts facts = good_unit();
    known(facts.chips).back().node = gpio;
    const Scene scene = make_scene(facts);
    CHECK(place_line(scene, at("soc-gpio", "6"))->controller == devicetree::no_node);
}

TEST_CASE("without chips the tree places a line by its name, or by a chip that names a controller",
          "[audit][scene]") {
    const Facts facts = as_image(good_unit());
    const Scene scene = make_scene(facts);
    for (const auto& where : {at("soc-gpio", "SUPPLY_RELEASE"),
                              at("gpio@9030000", "6"),
                              at("9030000.gpio", "6"),
                              at("/soc/gpio@9030000", "6")}) {
        INFO(where.chip << " " << where.line);
        const Known<PlacedLine> line = place_line(scene, where);
        REQUIRE(line);
        CHECK(line->chip == "/soc/gpio@9030000");
        CHECK(line->offset == 6);
        CHECK(line->live == nullptr);
    }
    CHECK_THAT(place_line(scene, at("soc-gpio", "6")).what_is_missing(),
               ContainsSubstring("none has this label, as far as the tree tells; it has "
                                 "/soc/gpio@9030000 [9030000.gpio], "));
    CHECK_THAT(place_line(scene, at("gpiochip0", "6")).what_is_missing(),
               ContainsSubstring("numbers its chips anew at each boot"));
    CHECK_THAT(place_line(scene, at("gpio@9030000", "HORN")).what_is_missing(),
               ContainsSubstring("which line of /soc/gpio@9030000 is \"HORN\""));
    CHECK(place_line(scene, at("anything", "HATCH"))->sleeps);
}

TEST_CASE("without a configuration that can be used nothing is placed", "[audit][scene]") {
    Facts facts = good_unit();
    edit_config(facts, "\"3 s\"", "3");
    const Scene scene = make_scene(facts);
    CHECK(scene.settings == nullptr);
    CHECK_THAT(scene.button.what_is_missing(), ContainsSubstring("nightlatch check"));
}

TEST_CASE("without chips a chip goes by the label that its driver gives it", "[audit][scene]") {
    // [linux drivers/pinctrl/bcm/pinctrl-bcm2835.c, bcm2711_gpio_chip]
    Facts facts = as_image(good_unit());
    set_property(facts, gpio, "compatible", strings({"brcm,bcm2711-gpio"}));
    const Scene scene = make_scene(facts);
    CHECK(place_line(scene, at("pinctrl-bcm2711", "6"))->chip == "/soc/gpio@9030000");
    // Two controllers by one name: only the path, or a line's name, tells them apart.
    add_node(facts,
             "/soc/i2c@9040000/gpio@9030000",
             {{"gpio-controller", ""}, {"#gpio-cells", cells({2})}});
    const Scene two = make_scene(facts);
    CHECK_THAT(place_line(two, at("gpio@9030000", "6")).what_is_missing(),
               ContainsSubstring("several answer to it, /soc/gpio@9030000 [pinctrl-bcm2711], "));
    CHECK(place_line(two, at("gpio@9030000", "SPARE"))->offset == 7);
}
