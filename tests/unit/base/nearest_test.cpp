// SPDX-License-Identifier: MIT
#include "base/nearest.hpp"

#include <array>
#include <string>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;

namespace {

constexpr std::array<std::string_view, 7> keys{
    "chip", "line", "pressed", "bias", "debounce", "stuck_after", "act_on"};

std::string near(std::string_view typed) {
    return std::string(nearest(typed, keys).value_or("nothing"));
}

}  // namespace

TEST_CASE("a slip of the hand finds the word that was meant", "[nearest]") {
    struct Slip {
        std::string_view typed;
        std::string_view meant;
    };

    constexpr std::array slips{Slip{"presed", "pressed"},    // a letter left out
                               Slip{"presssed", "pressed"},  // one too many
                               Slip{"prassed", "pressed"},   // a wrong one
                               Slip{"perssed", "pressed"},   // two swapped
                               Slip{"debonce", "debounce"},
                               Slip{"debuonce", "debounce"},
                               Slip{"CHIP", "chip"},  // another case
                               Slip{"stuck-after", "stuck_after"},
                               Slip{"stuck after", "stuck_after"},
                               Slip{"act-on", "act_on"},
                               Slip{"stuck", "stuck_after"},  // cut short
                               Slip{"chip_label", "chip"},    // run on
                               Slip{"gpiochip", "chip"},
                               Slip{"chip", "chip"}};
    for (const Slip& slip : slips) {
        INFO(slip.typed);
        CHECK(near(slip.typed) == slip.meant);
    }
}

TEST_CASE("another word is not taken for a slip", "[nearest]") {
    for (const char* typed : {"", "colour", "x", "hold", "released", "name", "no", "ch"}) {
        INFO(typed);
        CHECK(near(typed) == "nothing");
    }
}

TEST_CASE("an exact word wins over near ones, and of equally near ones the first", "[nearest]") {
    constexpr std::array<std::string_view, 3> close{"hold", "held", "help"};
    CHECK(nearest("held", close) == "held");
    CHECK(nearest("hald", close) == "hold");
    CHECK(nearest("helb", close) == "held");
}

TEST_CASE("a very long word costs nothing and is near nothing", "[nearest]") {
    CHECK(near(std::string(1'000'000, 'c')) == "nothing");
}
