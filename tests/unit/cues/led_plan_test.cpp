// SPDX-License-Identifier: MIT
#include "daemon/cues/led_plan.hpp"

#include <array>
#include <map>

#include <catch2/catch_test_macros.hpp>

namespace nightlatch::cues {
namespace {

using namespace std::chrono_literals;
using core::Pattern;
using core::PatternKind;
using Writes = std::vector<FileText>;

constexpr Instant start{1000s};
const LedWay kernel{Drive::kernel, 255};
const LedWay hand{Drive::hand, 255};

TEST_CASE("the kernel blinks by itself: two delays in milliseconds, and no second look", "[led]") {
    const LedPlan plan = plan_of(kernel, {PatternKind::blink, 125ms, 375ms}, start, start);
    CHECK(plan.writes == Writes{{"delay_on", "125"}, {"delay_off", "375"}});
    CHECK(plan.until == never);
}

TEST_CASE("a blink faster than the kernel's milliseconds is still a blink", "[led]") {
    const LedPlan plan = plan_of(kernel, {PatternKind::blink, 100us, 1700us}, start, start);
    CHECK(plan.writes == Writes{{"delay_on", "1"}, {"delay_off", "2"}});
}

TEST_CASE("with the timer trigger a steady LED has one delay of zero, and brightness is left alone",
          "[led]") {
    CHECK(plan_of(kernel, {PatternKind::on, 0s, 0s}, start, start).writes ==
          Writes{{"delay_on", "500"}, {"delay_off", "0"}});
    CHECK(plan_of(kernel, {PatternKind::off, 0s, 0s}, start, start).writes ==
          Writes{{"delay_off", "500"}, {"delay_on", "0"}});
}

TEST_CASE("a pulse is on, is looked at again when it ends, and then stays off", "[led]") {
    const Pattern pulse{PatternKind::pulse, 50ms, 50ms};
    const LedPlan first = plan_of(kernel, pulse, start, start);
    CHECK(first.writes == Writes{{"delay_on", "500"}, {"delay_off", "0"}});
    CHECK(first.until == start + 50ms);
    const LedPlan second = plan_of(kernel, pulse, start, start + 50ms);
    CHECK(second.writes == Writes{{"delay_off", "500"}, {"delay_on", "0"}});
    CHECK(second.until == never);
}

TEST_CASE("without the timer trigger we blink by brightness, from step to step", "[led]") {
    const Pattern blink{PatternKind::blink, 100ms, 300ms};
    const LedPlan on = plan_of(hand, blink, start, start);
    CHECK(on.writes == Writes{{"brightness", "255"}});
    CHECK(on.until == start + 100ms);
    const LedPlan off = plan_of(hand, blink, start, start + 100ms);
    CHECK(off.writes == Writes{{"brightness", "0"}});
    CHECK(off.until == start + 400ms);
}

TEST_CASE("a steady LED never wakes anybody", "[led]") {
    for (const LedWay& way : {kernel, hand}) {
        CHECK(plan_of(way, {PatternKind::on, 0s, 0s}, start, start + 1h).until == never);
        CHECK(plan_of(way, {PatternKind::off, 0s, 0s}, start, start + 1h).until == never);
    }
}

struct Delays {
    unsigned long on;
    unsigned long off;
};

/// Makes the writes one by one on files that hold `before`.
void check_way(Delays before, Delays after) {
    std::map<std::string_view, unsigned long> file{{"delay_on", before.on},
                                                   {"delay_off", before.off}};
    for (const FileText& write : delay_writes(after.on, after.off)) {
        file[write.file] = std::stoul(write.text);
        CHECK(file["delay_on"] + file["delay_off"] != 0);
    }
    CHECK(file["delay_on"] == after.on);
    CHECK(file["delay_off"] == after.off);
}

TEST_CASE("the two delays are never both zero on the way from any setting to any other", "[led]") {
    constexpr std::array<Delays, 8> settings{
        {{0, 1}, {0, 500}, {1, 0}, {500, 0}, {1, 1}, {1, 500}, {500, 1}, {500, 500}}};
    for (const Delays& before : settings) {
        for (const Delays& after : settings) {
            check_way(before, after);
        }
    }
}

TEST_CASE("the trigger file tells which one is set and whether timer is among them", "[led]") {
    struct Case {
        std::string_view text;
        std::string_view set;
        bool offered;
    };

    constexpr std::array cases{
        Case{"[none] usb-gadget kbd-scrolllock timer heartbeat\n", "none", true},
        Case{"none timer [heartbeat]\n", "heartbeat", true},
        Case{"none [timer]\n", "timer", true},
        Case{"[none] heartbeat hidtimer timer2\n", "none", false},
        Case{"none rfkill-any [mmc0]\n", "mmc0", false},
        Case{"", "", false},
    };
    for (const Case& one : cases) {
        CAPTURE(one.text);
        LedFound found;
        read_triggers(one.text, found);
        CHECK(found.trigger == one.set);
        CHECK(found.timer_offered == one.offered);
    }
}

TEST_CASE("what was found is given back: a trigger by its name, else the brightness", "[led]") {
    CHECK(restoring({"heartbeat", true, 255, 0, 0}, Drive::kernel) ==
          Writes{{"trigger", "heartbeat"}});
    CHECK(restoring({"none", true, 3, 0, 0}, Drive::kernel) ==
          Writes{{"trigger", "none"}, {"brightness", "3"}});
    CHECK(restoring({"", false, 7, 0, 0}, Drive::hand) == Writes{{"brightness", "7"}});
    CHECK(restoring({"timer", true, 0, 0, 900}, Drive::kernel) ==
          Writes{{"delay_off", "900"}, {"delay_on", "0"}});
    CHECK(restoring({"timer", true, 0, 0, 0}, Drive::kernel).empty());
    CHECK(restoring({"timer", true, 0, 100, 900}, Drive::hand) == Writes{{"trigger", "timer"}});
}

}  // namespace
}  // namespace nightlatch::cues
