// SPDX-License-Identifier: MIT
// Who switches off, and when, against what the sources of Linux 6.1.192 and 6.12.117 say: each row
// names its file.
#include "audit/report.hpp"
#include "unit/audit/rule_cases.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::StartsWith;

namespace {

constexpr std::string_view chip_node = "/soc/i2c@9040000/chip@34";

struct Chip {
    std::string_view compatible;
    const char* property = nullptr;  ///< null: without one
};

Facts with_chip(const Chip& chip) {
    Facts facts = good_unit();
    add_node(facts, chip_node, {{"compatible", strings({chip.compatible})}});
    if (chip.property != nullptr) {
        set_property(facts, chip_node, chip.property);
    }
    known(facts.power_off.bound).push_back({std::string(chip_node), "its-driver", "", "", ""});
    return facts;
}

void run_linux(Facts& facts, unsigned major, unsigned minor) {
    facts.kernel = KernelVersion{
        major, minor, std::to_string(major) + "." + std::to_string(minor) + ".1-pontoon"};
}

void set_priority(Facts& facts, std::uint32_t priority) {
    set_property(facts, post_halt_node, "priority", cells({priority}));
}

std::optional<WayOff> way_at(const Facts& facts, std::string_view place) {
    const Scene scene = make_scene(facts);
    const auto it = std::find_if(scene.ways_off.begin(),
                                 scene.ways_off.end(),
                                 [&](const WayOff& way) { return way.place == place; });
    return it == scene.ways_off.end() ? std::nullopt : std::optional(*it);
}

Turn turn_of_chip(const Facts& facts) {
    const auto way = way_at(facts, chip_node);
    REQUIRE(way);
    return way->turn;
}

std::string first(const Facts& facts) {
    return outcome(of("post-halt-first", facts));
}

std::string remedy(const Facts& facts) {
    const std::vector<Finding> found = findings_in(of("post-halt-first", facts));
    REQUIRE(found.size() == 1);
    return found.front().remedy;
}

}  // namespace

TEST_CASE("in Linux 6.12 each way off has the place that its driver registers",
          "[audit][ways-off]") {
    struct Row {
        Chip chip;
        Turn turn{};
    };

    const std::vector<Row> rows{
        // devm_register_sys_off_handler(…, SYS_OFF_PRIO_DEFAULT, …) without any property
        {{"x-powers,axp209"}, Turn::beside},  // drivers/mfd/axp20x.c
        {{"x-powers,axp15060"}, Turn::beside},
        {{"st,stpmic1"}, Turn::beside},       // drivers/mfd/stpmic1.c
        {{"syscon-poweroff"}, Turn::beside},  // drivers/power/reset/syscon-poweroff.c
        {{"qcom,pshold"}, Turn::beside},      // drivers/power/reset/msm-poweroff.c
        // SYS_OFF_PRIO_LOW
        {{"regulator-poweroff"}, Turn::after},  // drivers/power/reset/regulator-poweroff.c
        {{"restart-poweroff"}, Turn::after},    // drivers/power/reset/restart-poweroff.c
        // SYS_OFF_PRIO_FIRMWARE
        {{"cznic,turris-omnia-mcu"}, Turn::before},  // drivers/platform/cznic
        // SYS_OFF_MODE_POWER_OFF_PREPARE: drivers/mfd/rk8xx-core.c
        {{"rockchip,rk808", "rockchip,system-power-controller"}, Turn::before},
        {{"rockchip,rk809", "system-power-controller"}, Turn::before},
        {{"rockchip,rk817"}, Turn::never},
        // of_device_is_system_power_controller(): drivers/mfd/tps65219.c
        {{"ti,tps65219", "system-power-controller"}, Turn::beside},
        {{"ti,tps65219"}, Turn::never},
        // pm_power_off, called behind priority 0: kernel/reboot.c, do_kernel_power_off()
        {{"ti,am3352-rtc", "system-power-controller"}, Turn::after},  // drivers/rtc/rtc-omap.c
        {{"ti,am3352-rtc"}, Turn::never},
        {{"ti,palmas", "ti,system-power-controller"}, Turn::after},  // drivers/mfd/palmas.c
        {{"ti,palmas", "system-power-controller"}, Turn::never},     // it asks for TI's own
        {{"active-semi,act8846", "system-power-controller"}, Turn::after},
        {{"brcm,bcm2835-pm", "system-power-controller"}, Turn::after},
        {{"brcm,bcm2711-pm"}, Turn::never},  // drivers/watchdog/bcm2835_wdt.c
        {{"atmel,sama5d2-shdwc"}, Turn::after},
    };
    for (const Row& row : rows) {
        INFO(row.chip.compatible);
        CHECK(turn_of_chip(with_chip(row.chip)) == row.turn);
    }
}

TEST_CASE("before Linux 6.7 the post-halt driver has the one slot", "[audit][ways-off]") {
    Facts facts = with_chip({"x-powers,axp209"});  // takes it when it is empty
    run_linux(facts, 6, 1);
    CHECK(turn_of_chip(facts) == Turn::never);  // the post-halt driver is bound, so it had it
    known(facts.driver.bound).clear();
    CHECK(turn_of_chip(facts) == Turn::beside);

    Facts taken = with_chip({"qcom,pshold"});  // takes it whoever has it
    run_linux(taken, 6, 1);
    CHECK(turn_of_chip(taken) == Turn::beside);
    CHECK_THAT(remedy(taken), StartsWith("No priority helps here"));
}

TEST_CASE("between the kernels that were read the worse of the two holds", "[audit][ways-off]") {
    Facts facts = with_chip({"x-powers,axp803"});
    run_linux(facts, 6, 8);
    CHECK(turn_of_chip(facts) == Turn::beside);
    CHECK_THAT(findings_in(of("post-halt-first", facts)).front().evidence.back(),
               ContainsSubstring("changed between 6.1 and 6.12"));
}

TEST_CASE("the priority that the remedy gives is one that wins", "[audit][ways-off]") {
    Facts facts = with_chip({"x-powers,axp209"});
    CHECK_THAT(remedy(facts), ContainsSubstring("priority = <200>;"));
    set_priority(facts, 200);
    CHECK_THAT(first(facts), StartsWith("pass"));
    facts.power_off.efi = true;
    CHECK_THAT(remedy(facts), ContainsSubstring("priority = <255>;"));
    CHECK_THAT(remedy(facts), ContainsSubstring("efi=noruntime"));
    set_priority(facts, 225);
    CHECK_THAT(first(facts), ContainsSubstring("which only one can have"));
    set_priority(facts, 255);
    CHECK_THAT(first(facts), StartsWith("pass"));
}

TEST_CASE("EFI comes before the one slot, too, and no priority helps there", "[audit][ways-off]") {
    Facts facts = good_unit();
    run_linux(facts, 6, 1);
    remove_node(facts, "/psci");
    facts.power_off.efi = true;
    CHECK_THAT(first(facts), ContainsSubstring("has the one slot, which comes behind the chain"));
    CHECK_THAT(remedy(facts), StartsWith("No priority helps here"));
    CHECK_THAT(remedy(facts), ContainsSubstring("efi=noruntime"));
}

TEST_CASE("a chip to which no driver is bound is not a rival now, and the list says so",
          "[audit][ways-off]") {
    Facts facts = with_chip({"x-powers,axp209"});
    known(facts.power_off.bound).clear();
    CHECK_THAT(first(facts), StartsWith("pass"));
    CHECK_THAT(way_at(facts, chip_node)->inferred, ContainsSubstring("no driver is bound"));
    CHECK(turn_of_chip(as_image(with_chip({"x-powers,axp209"}))) == Turn::beside);
}

TEST_CASE("a bound driver that is in no table and can switch off is a warning",
          "[audit][ways-off]") {
    Facts facts = good_unit();
    const auto with = [&](BoundDevice device) {
        Facts other = facts;
        known(other.power_off.bound).push_back(std::move(device));
        return first(other);
    };
    CHECK_THAT(with({"", "tide-off", "tide_poweroff", "drivers/power/reset", ""}),
               StartsWith("found: warning: The driver \"tide-off\" may switch off"));
    CHECK_THAT(with({"", "tide-chip", "tide_chip", "drivers/mfd", "tide_power_off"}),
               StartsWith("found: warning"));
    CHECK_THAT(with({"", "tide-chip", "tide_chip", "drivers/mfd", ""}), StartsWith("pass"));
    CHECK_THAT(with({"", "syscon-reboot", "syscon_reboot", "drivers/power/reset", ""}),
               StartsWith("pass"));
    CHECK_THAT(with({"", "tide-off", "tide_poweroff", "", "tide_power_off"}), StartsWith("pass"));
}

TEST_CASE("the page lists the ways off in the kernel's order, and what could hide",
          "[audit][ways-off]") {
    Facts facts = with_chip({"regulator-poweroff"});
    facts.power_off.efi = true;
    const std::string page = to_text(run(facts));
    const std::size_t efi = page.find("1 the firmware (EFI, ResetSystem)");
    const std::size_t ours = page.find("2 the post-halt line");
    const std::size_t psci = page.find("3 the firmware (PSCI)");
    const std::size_t low = page.find("4 the node \"regulator-poweroff\"");
    CHECK(efi < ours);
    CHECK(ours < psci);
    CHECK(psci < low);
    CHECK(low < page.find("there could also be a driver from outside"));
    CHECK(low != std::string::npos);
    CHECK(to_text(run(facts, {{"led-there"}, {}})).find("who switches off") == std::string::npos);
}

TEST_CASE("a board whose chip takes no part says so", "[audit][ways-off]") {
    const std::string page = to_text(run(with_chip({"rockchip,rk808"})));
    CHECK_THAT(page, ContainsSubstring("takes no part"));
    CHECK_THAT(page, ContainsSubstring("without the property"));
}

TEST_CASE("who follows when the driver gives up decides what becomes of the line",
          "[audit][ways-off]") {
    Facts facts = with_chip({"brcm,bcm2711-pm", "system-power-controller"});
    remove_node(facts, "/psci");
    CHECK_THAT(outcome(of("post-halt-final", facts)),
               ContainsSubstring("the processor's reset into its halt"));
    known(facts.power_off.bound).clear();
    CHECK_THAT(outcome(of("post-halt-final", facts)),
               StartsWith("pass: the final level stays; the kernel gives up after 3000 ms"));
    CHECK_THAT(
        outcome(of("post-halt-final", good_unit())),
        ContainsSubstring("the firmware (PSCI) \"arm,psci-1.0\" switches the processor off"));
}

TEST_CASE("each handler's row says where it was read, and no row hides another",
          "[audit][ways-off]") {
    const std::span<const PowerOffHandler> rows = power_off_handlers();
    for (const PowerOffHandler& row : rows) {
        INFO(row.compatible);
        CHECK((row.source.starts_with("drivers/") || row.source.starts_with("arch/")));
        CHECK(std::count_if(rows.begin(), rows.end(), [&](const PowerOffHandler& other) {
                  return other.compatible == row.compatible;
              }) == 1);
        CHECK(power_off_handler(row.compatible) == &row);
    }
    CHECK(power_off_handler("fsl,pfuze100") == nullptr);  // prepares, and switches nothing off
    CHECK(power_off_handler("gpio-poweroff") == nullptr);
    CHECK(power_off_handler("x-powers,axp209-gpio") == nullptr);  // a part of the chip
}
