// SPDX-License-Identifier: MIT
#include "lines/find.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::lines;
using Catch::Matchers::Equals;

namespace {

using Chips = std::vector<Chip>;
using Candidates = std::vector<std::size_t>;

Chip chip_of(unsigned number, const std::string& label) {
    const std::string name = "gpiochip" + std::to_string(number);
    return {name, label, "/dev/" + name, {}, "", false, {}};
}

Chip with_lines(const std::vector<std::string>& names) {
    Chip chip = chip_of(0, "soc-gpio");
    for (const std::string& name : names) {
        chip.lines.push_back({});
        chip.lines.back().name = name;
    }
    return chip;
}

/// The pontoon's board: its first chip has links, the last two share a label.
Chips pontoon() {
    Chips chips{chip_of(0, "soc-gpio"),
                chip_of(2, "float/hatch"),
                chip_of(3, "expander"),
                chip_of(10, "expander")};
    chips[0].aliases = {"/dev/gauge/lid", "/dev/gpiochip4"};
    return chips;
}

std::optional<std::size_t> found(std::string_view text) {
    const auto chip = find_chip(pontoon(), text);
    return chip ? std::optional(*chip) : std::nullopt;
}

const Chip doors = with_lines({"", "DOOR", "FRONT_BUTTON", "DOOR"});

std::string refusal(const Chip& on, const std::string& line) {
    const auto offset = find_line(on, line);
    REQUIRE_FALSE(offset);
    return why_no_line(on, line, offset.error());
}

}  // namespace

TEST_CASE("a chip is known by the path of its device-tree node, when it is one chip's alone",
          "[lines]") {
    Chips chips = pontoon();
    chips[2].node = "/soc/i2c@9040000/expander@20";
    CHECK(*find_chip(chips, "/soc/i2c@9040000/expander@20") == 2);
    CHECK_FALSE(find_chip(chips, "soc/i2c@9040000/expander@20"));
    chips[3].node = chips[2].node;  // a bank each
    const auto both = find_chip(chips, "/soc/i2c@9040000/expander@20");
    REQUIRE_FALSE(both);
    CHECK(both.error().why == Why::several_chips);
}

TEST_CASE("a chip is known by its label, its name and its path", "[lines]") {
    CHECK(found("soc-gpio") == 0);
    CHECK(found("gpiochip0") == 0);
    CHECK(found("/dev/gpiochip0") == 0);
    CHECK(found("gpiochip10") == 3);
}

TEST_CASE("a chip is known by the links that lead to it", "[lines]") {
    CHECK(found("/dev/gpiochip4") == 0);
    CHECK(found("gpiochip4") == 0);
    CHECK(found("/dev/gauge/lid") == 0);
    // Without a path only the kernel's form of a name means a device.
    CHECK_FALSE(found("lid"));
    CHECK_FALSE(found("gauge/lid"));
}

TEST_CASE("a path's empty parts and dots lead nowhere else", "[lines]") {
    CHECK(found("/dev//gpiochip0") == 0);
    CHECK(found("//dev/./gpiochip0") == 0);
    CHECK(found("/dev/gauge/.//lid") == 0);
    CHECK(surely_same_chip("gpiochip0", "/dev//gpiochip0"));
    // Behind a link ".." is another folder than it looks: only the kernel can follow it.
    CHECK_FALSE(found("/dev/gauge/../gpiochip0"));
    CHECK(device_named("/dev", "/dev/gauge/../gpiochip0") == "/dev/gauge/../gpiochip0");
    CHECK(device_named("/dev", "./gpiochip0") == "./gpiochip0");
    CHECK(device_named("/dev", "/dev/gpiochip0/.") == "/dev/gpiochip0/.");
}

TEST_CASE("a label in /dev is not a device", "[lines]") {
    CHECK_FALSE(found("/dev/soc-gpio"));
    CHECK_FALSE(found("/run/gpiochip0"));
    CHECK_FALSE(found("/gpiochip0"));
}

TEST_CASE("a label may look like a path or a name, where no such device is", "[lines]") {
    CHECK(found("float/hatch") == 1);
    Chips chips{chip_of(0, "gpiochip1"), chip_of(2, "expander")};
    CHECK(*find_chip(chips, "gpiochip1") == 0);
    chips.push_back(chip_of(1, "soc-gpio"));
    CHECK(*find_chip(chips, "gpiochip1") == 2);
}

TEST_CASE("a label that several chips carry names the candidates", "[lines]") {
    const auto two = find_chip(pontoon(), "expander");
    REQUIRE_FALSE(two);
    CHECK(two.error().why == Why::several_chips);
    CHECK(two.error().candidates == Candidates{2, 3});
    const auto none = find_chip(pontoon(), "mast");
    REQUIRE_FALSE(none);
    CHECK(none.error().why == Why::no_chip);
    CHECK(none.error().candidates.empty());
    CHECK_FALSE(find_chip(pontoon(), ""));
}

TEST_CASE("a chip's name or path means a device, anything else a label", "[lines]") {
    CHECK(device_named("/dev", "gpiochip12") == "/dev/gpiochip12");
    CHECK(device_named("/dev", "/dev/front-panel") == "/dev/front-panel");
    for (const char* label : {"soc-gpio", "gpiochip", "gpiochip-1", "gpiochip1x", ""}) {
        CHECK_FALSE(device_named("/dev", label));
    }
    CHECK(by_number("gpiochip12"));
    CHECK(by_number("/dev/gpiochip12"));
    CHECK_FALSE(by_number("/dev/front-panel"));
    CHECK_FALSE(by_number("soc-gpio"));
}

TEST_CASE("a line is known by its name or its offset", "[lines]") {
    CHECK(*find_line(doors, "FRONT_BUTTON") == 2);
    CHECK(*find_line(doors, "0") == 0);
    CHECK(*find_line(doors, "3") == 3);
    CHECK(*find_line(doors, "03") == 3);
}

TEST_CASE("digits are always an offset, never a name", "[lines]") {
    CHECK(*find_line(with_lines({"1", "0"}), "0") == 0);
}

TEST_CASE("an offset beyond the chip, or beyond all numbers, is not a line", "[lines]") {
    for (const std::string line : {"4", "4294967296", "99999999999999999999999"}) {
        CHECK(find_line(doors, line).error().why == Why::no_offset);
        CHECK_THAT(refusal(doors, line),
                   Equals("gpiochip0 [soc-gpio] has no line " + line +
                          ": its 4 lines are numbered from 0"));
    }
}

TEST_CASE("a name that is not there is answered with those that are", "[lines]") {
    CHECK(find_line(doors, "FRONT").error().why == Why::no_name);
    CHECK_THAT(refusal(doors, "FRONT"),
               Equals("gpiochip0 [soc-gpio] has no line named \"FRONT\": it has DOOR, "
                      "FRONT_BUTTON, DOOR"));
}

TEST_CASE("a long list of names is cut, and a chip without names says so", "[lines]") {
    CHECK_THAT(refusal(with_lines({"A", "B", "C", "D", "E", "F", "G", "H", "I", "J"}), "X"),
               Equals("gpiochip0 [soc-gpio] has no line named \"X\": it has A, B, C, D, E, F, G, H "
                      "and 2 more"));
    CHECK_THAT(refusal(with_lines({"", ""}), "X"),
               Equals("gpiochip0 [soc-gpio] has no line named \"X\": its lines have no names, so "
                      "give an offset"));
}

TEST_CASE("foreign names are told so that they steer no terminal", "[lines]") {
    Chip foreign = with_lines({"\x1b[2J"});
    foreign.label = "soc\ngpio";
    CHECK_THAT(refusal(foreign, "\u00dcBER\t"),
               Equals("gpiochip0 [soc\\u000Agpio] has no line named \"\u00dcBER\\u0009\": it has "
                      "\\u001B[2J"));
}

TEST_CASE("no name at all is not the name of the nameless lines", "[lines]") {
    CHECK(find_line(doors, "").error().why == Why::no_name);
}

TEST_CASE("a name that several lines carry is ambiguous, and their offsets are listed", "[lines]") {
    const auto line = find_line(doors, "DOOR");
    REQUIRE_FALSE(line);
    CHECK(line.error().why == Why::several_lines);
    CHECK(line.error().candidates == Candidates{1, 3});
    CHECK_THAT(refusal(doors, "DOOR"),
               Equals("2 lines of gpiochip0 [soc-gpio] are named \"DOOR\": give one of the offsets "
                      "1, 3 instead"));
}

TEST_CASE("a label or a name is a chip's or a line's own where it means nothing else", "[lines]") {
    const Chips chips = pontoon();
    CHECK(has_own_label(chips, 0));
    CHECK_FALSE(has_own_label(chips, 1));  // a file may come to have that path
    CHECK_FALSE(has_own_label(chips, 2));
    CHECK_FALSE(has_own_label(Chips{chip_of(0, "")}, 0));
    CHECK_FALSE(has_own_label(Chips{chip_of(0, "gpiochip7")}, 0));
    CHECK(has_own_name(doors, 2));
    CHECK_FALSE(has_own_name(doors, 0));
    CHECK_FALSE(has_own_name(doors, 1));
    CHECK_FALSE(has_own_name(with_lines({"1", "0"}), 0));
    CHECK(has_own_name(with_lines({"0"}), 0));
}

TEST_CASE("texts mean one chip for sure only where no chip could make them two", "[lines]") {
    CHECK(surely_same_chip("soc-gpio", "soc-gpio"));
    CHECK(surely_same_chip("gpiochip0", "/dev/gpiochip0"));
    CHECK(surely_same_chip("/dev/gpiochip0", "gpiochip0"));
    CHECK_FALSE(surely_same_chip("gpiochip0", "gpiochip1"));
    CHECK_FALSE(surely_same_chip("gpiochip0", "soc-gpio"));
    CHECK_FALSE(surely_same_chip("soc-gpio", "/dev/soc-gpio"));
}
