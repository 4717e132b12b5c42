// SPDX-License-Identifier: MIT
#include "devicetree/blob.hpp"
#include "devicetree/inventory.hpp"
#include "support/seeds.hpp"
#include "support/tree_made.hpp"
#include "support/tree_text.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::devicetree;
using nightlatch::test::blob_of;
using nightlatch::test::cells;
using nightlatch::test::Dice;
using nightlatch::test::lines_of;
using nightlatch::test::made_tree;
using nightlatch::test::MadeNode;
using nightlatch::test::seed_for;
using nightlatch::test::strings;

namespace {

/// A board with something of everything that is looked for.
std::vector<MadeNode> board() {
    return {
        {"/", {{"model", strings({"Tide gauge"})}, {"compatible", strings({"v,gauge"})}}},
        {"/psci", {{"compatible", strings({"arm,psci-0.2"})}}},
        {"/soc/gpio@0",
         {{"phandle", cells({1})},
          {"#gpio-cells", cells({2})},
          {"gpio-controller", ""},
          {"gpio-line-names", strings({"", "FRONT_BUTTON", "SUPPLY_RELEASE"})}}},
        {"/soc/gpio@0/hog", {{"gpio-hog", ""}, {"gpios", cells({5, 0, 6, 1})}, {"input", ""}}},
        {"/soc/pinctrl@1",
         {{"compatible", strings({"allwinner,sun8i-h3-pinctrl"})},
          {"phandle", cells({2})},
          {"#gpio-cells", cells({3})},
          {"gpio-controller", ""}}},
        {"/soc/i2c@2", {{"#address-cells", cells({1})}, {"#size-cells", cells({0})}}},
        {"/soc/i2c@2/expander@20",
         {{"phandle", cells({3})}, {"#gpio-cells", cells({2})}, {"gpio-controller", ""}}},
        {"/soc/i2c@2/pmic@34", {{"system-power-controller", ""}}},
        {"/connector",
         {{"phandle", cells({4})},
          {"#gpio-cells", cells({2})},
          {"gpio-map", cells({0, 0, 1, 7, 0, 1, 0, 2, 1, 8, 0})},
          {"gpio-map-mask", cells({0xf, 0})},
          {"gpio-map-pass-thru", cells({0, 1})}}},
        {"/off",
         {{"compatible", strings({"gpio-poweroff"})},
          {"gpios", cells({1, 2, 0})},
          {"active-delay-ms", cells({200})}}},
        {"/keys", {{"compatible", strings({"gpio-keys"})}}},
        {"/keys/power", {{"linux,code", cells({116})}, {"gpios", cells({4, 0, 1})}}},
        {"/leds", {{"compatible", strings({"gpio-leds"})}}},
        {"/leds/front", {{"gpios", cells({2, 1, 9, 0})}, {"color", cells({1})}}},
        {"/card", {{"cd-gpios", cells({3, 4, 1, 0})}, {"status", strings({"disabled"})}}},
    };
}

/// A place, or a number of bytes.
std::size_t some(Dice& dice, std::size_t bound) {
    return static_cast<std::size_t>(dice.below(bound));
}

std::string random_bytes(Dice& dice, std::size_t most) {
    std::string bytes(some(dice, most + 1), '\0');
    for (char& byte : bytes) {
        byte = static_cast<char>(static_cast<unsigned char>(dice.below(256)));
    }
    return bytes;
}

/// A word that some code is likely to trip over.
std::uint32_t nasty_word(Dice& dice) {
    static const std::vector<std::uint32_t> nasty{
        0, 1, 2, 3, 4, 9, 16, 17, 40, 0x10000, 0x7fffffff, 0x80000000, 0xffffffff, 0xfffffffc};
    return dice.one_in(3) ? static_cast<std::uint32_t>(dice.below(1024)) : dice.pick(nasty);
}

/// Bytes and words changed, parts lost or doubled, the end cut off; one to four of them.
std::string mutated(Dice& dice, std::string bytes) {
    for (auto left = 1 + dice.below(4); left > 0 && bytes.size() >= 8; --left) {
        const std::size_t at = some(dice, bytes.size());
        const std::size_t word = some(dice, bytes.size() / 4) * 4;
        switch (dice.below(6)) {
        case 0:
            bytes[at] = static_cast<char>(static_cast<unsigned char>(dice.below(256)));
            break;
        case 1:
            bytes.replace(word, 4, cells({nasty_word(dice)}));
            break;
        // The header's words, which say where all else is.
        case 2:
            bytes.replace(4 + some(dice, 9) * 4, 4, cells({nasty_word(dice)}));
            break;
        case 3:
            bytes.erase(word, some(dice, 64));
            break;
        case 4:
            bytes.insert(word, bytes.substr(some(dice, bytes.size()), some(dice, 64)));
            break;
        default:
            bytes.resize(std::max<std::size_t>(8, at));
            break;
        }
        bytes.resize(std::max<std::size_t>(bytes.size(), 48));
    }
    return bytes;
}

/// All that is done with a tree; the sentences must be sentences.
bool read_all(const std::string& bytes) {
    const auto tree = read_blob(bytes);
    if (!tree) {
        REQUIRE_FALSE(tree.error().text.empty());
        REQUIRE(tree.error().text.size() < 400);
        return false;
    }
    const Inventory all = take_inventory(*tree);
    REQUIRE(lines_of(*tree, all).size() <= tree->size() * 8 + bytes.size());
    return true;
}

std::string paths_only(std::vector<std::string> lines) {
    std::sort(lines.begin(), lines.end());
    std::string text;
    for (const std::string& line : lines) {
        text += line + '\n';
    }
    return text;
}

/// Nodes that have nothing to do with lines, keys or power.
MadeNode unrelated(Dice& dice, const std::string& above, std::uint32_t number) {
    MadeNode node{above + "/sensor@" + std::to_string(number),
                  {{"compatible", strings({"v,sensor"})}, {"phandle", cells({number + 1000})}}};
    if (dice.one_in(2)) {
        node.properties.emplace_back("status", strings({"disabled"}));
    }
    if (dice.one_in(2)) {
        node.properties.emplace_back("reg", cells({number, 1, 0}));
        node.properties.emplace_back("nr-gpios", cells({1}));
        node.properties.emplace_back("gpio-ranges", cells({1, 0, 0, 8}));
    }
    return node;
}

}  // namespace

TEST_CASE("any bytes give a tree or a sentence", "[devicetree]") {
    Dice dice(seed_for("any bytes"));
    for (int i = 0; i < 20'000; ++i) {
        std::string bytes = random_bytes(dice, 400);
        if (bytes.size() > 40 && dice.one_in(2)) {
            // Past the first checks: a header of a blob of that size.
            const auto size = static_cast<std::uint32_t>(bytes.size());
            bytes.replace(0, 40, cells({0xd00dfeed, size, 40, 0, 40, 17, 16, 0, 0, size - 40}));
        }
        read_all(bytes);
    }
}

TEST_CASE("a damaged blob gives a tree or a sentence", "[devicetree]") {
    Dice dice(seed_for("a damaged blob"));
    const std::string whole = blob_of(made_tree(board()));
    REQUIRE(read_all(whole));
    int readable = 0;
    constexpr int tries = 20'000;
    for (int i = 0; i < tries; ++i) {
        readable += read_all(mutated(dice, whole)) ? 1 : 0;
    }
    // Both ends must have been reached often, or this tests nothing.
    CHECK(readable > tries / 50);
    CHECK(readable < tries - tries / 50);
}

TEST_CASE("overlays from damaged blobs give a blob or a sentence", "[devicetree]") {
    Dice dice(seed_for("overlays from damaged blobs"));
    const std::string base = blob_of(made_tree(
        {{"/a/b", {{"phandle", cells({1})}}}, {"/__symbols__", {{"gpio", strings({"/a/b"})}}}}));
    const std::string overlay = blob_of(
        made_tree({{"/fragment@0", {{"target", cells({0xffffffff})}}},
                   {"/fragment@0/__overlay__/n", {{"phandle", cells({1})}, {"x", cells({1})}}},
                   {"/__fixups__", {{"gpio", strings({"/fragment@0:target:0"})}}},
                   {"/__local_fixups__/fragment@0/__overlay__/n", {{"x", cells({0})}}}}));
    REQUIRE(apply_overlays(base, std::vector<Overlay>{{"o", overlay}}));
    int applied = 0;
    for (int i = 0; i < 5'000; ++i) {
        const bool damage_base = dice.one_in(3);
        const auto result = apply_overlays(
            damage_base ? mutated(dice, base) : base,
            std::vector<Overlay>{{"o", damage_base ? overlay : mutated(dice, overlay)}});
        applied += result && read_all(*result) ? 1 : 0;
        REQUIRE((result || !result.error().text.empty()));
    }
    CHECK(applied > 50);
    CHECK(applied < 4'950);
}

TEST_CASE("nodes that have nothing to do with it change nothing", "[devicetree]") {
    Dice dice(seed_for("unrelated nodes"));
    const std::vector<MadeNode> plain = board();
    const Tree tree = made_tree(plain);
    const std::string wanted = paths_only(lines_of(tree, take_inventory(tree)));
    REQUIRE(std::count(wanted.begin(), wanted.end(), '\n') > 10);
    for (int i = 0; i < 300; ++i) {
        std::vector<MadeNode> more = plain;
        for (std::uint32_t number = 1; number <= 20; ++number) {
            const std::size_t at = 1 + some(dice, more.size());
            const std::string beside = more[at - 1].path;
            // Below the one before, so that the order stays depth-first; keys and lamps have
            // children with a meaning, so not there.
            const bool special = beside.starts_with("/keys") || beside.starts_with("/leds");
            const std::string above = beside == "/" || special ? "" : beside;
            if (special) {
                continue;
            }
            more.insert(more.begin() + static_cast<std::ptrdiff_t>(at),
                        unrelated(dice, above, number));
        }
        const Tree with_more = made_tree(more);
        REQUIRE(with_more.size() > tree.size());
        REQUIRE(paths_only(lines_of(with_more, take_inventory(with_more))) == wanted);
    }
}

TEST_CASE("what is written as a blob is read back the same", "[devicetree]") {
    Dice dice(seed_for("round trip"));
    for (int i = 0; i < 500; ++i) {
        std::vector<MadeNode> nodes;
        std::string path;
        for (std::uint32_t number = 0; number < 1 + dice.below(30); ++number) {
            path = dice.one_in(3) ? "" : path;
            path += "/n" + std::to_string(number);
            MadeNode node{path, {}};
            for (std::uint64_t p = dice.below(5); p > 0; --p) {
                node.properties.emplace_back("p" + std::to_string(dice.below(40)),
                                             random_bytes(dice, 20));
            }
            nodes.push_back(std::move(node));
        }
        const Tree tree = made_tree(nodes);
        const auto read = read_blob(blob_of(tree));
        REQUIRE(read);
        REQUIRE(lines_of(*read) == lines_of(tree));
    }
}
