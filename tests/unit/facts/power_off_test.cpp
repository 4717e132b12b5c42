// SPDX-License-Identifier: MIT
// Paths and links as the kernel makes them [Linux Documentation/ABI/testing/sysfs-bus-*,
// drivers/base/bus.c, drivers/base/module.c]; module lists as depmod(8) and kbuild write them.
#include "daemon/facts/power_off.hpp"
#include "unit/facts/made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using Catch::Matchers::ContainsSubstring;

namespace {

const facts::Kernel kernel{"6.12.41-pontoon", "aarch64"};

/// A device on a bus with a driver of a module.
struct Device {
    std::string bus;
    std::string name;
    std::string driver;
    std::string module;
};

void make_device(const test::MadeFolder& made, const Device& device) {
    const auto& [bus, name, driver, module] = device;
    const std::string folder = "/sys/bus/" + bus;
    made.link(folder + "/devices/" + name, "../../../devices/" + name);
    made.link("/sys/devices/" + name + "/driver", "../../bus/" + bus + "/drivers/" + driver);
    made.link(folder + "/drivers/" + driver + "/module", "../../../../module/" + module);
}

void make_node(const test::MadeFolder& made, const std::string& device, const std::string& node) {
    made.link("/sys/devices/" + device + "/of_node", "../../firmware/devicetree/base" + node);
}

void make_lists(const test::MadeFolder& made) {
    made.file("/lib/modules/6.12.41-pontoon/modules.builtin",
              "kernel/drivers/mfd/axp20x-i2c.ko\nkernel/drivers/mfd/tide-chip.ko\n"
              "kernel/drivers/mfd/sub/other.ko\n");
    made.file("/lib/modules/6.12.41-pontoon/modules.dep",
              "kernel/drivers/power/reset/tide-off.ko.xz: kernel/drivers/mfd/mfd-core.ko.xz\n"
              "kernel/drivers/leds/lamp.ko.xz:\n");
}

}  // namespace

TEST_CASE("who is bound is told with node, driver, module and the source's folder", "[facts]") {
    const test::MadeFolder made;
    make_lists(made);
    make_device(made, {"i2c", "0-0034", "axp20x-i2c", "axp20x_i2c"});
    make_node(made, "0-0034", "/soc/i2c@9040000/pmic@34");
    make_device(made, {"platform", "tide-off", "tide-off", "tide_off"});
    make_device(made, {"platform", "lamp", "lamp", "lamp"});  // neither a node nor such a folder
    made.folder("/sys/devices/free");
    made.link("/sys/bus/i2c/devices/0-0020", "../../../devices/free");
    const audit::PowerOffFacts found = facts::read_power_off(made.root(), kernel);
    REQUIRE(found.bound);
    REQUIRE(found.bound->size() == 2);
    const audit::BoundDevice& chip = found.bound->at(0);
    CHECK(chip.node == "/soc/i2c@9040000/pmic@34");
    CHECK(chip.driver == "axp20x-i2c");
    CHECK(chip.module == "axp20x_i2c");
    CHECK(chip.folder == "drivers/mfd");
    const audit::BoundDevice& other = found.bound->at(1);
    CHECK(other.node.empty());
    CHECK(other.folder == "drivers/power/reset");
}

TEST_CASE("of a driver that no table has the kernel's symbols are asked", "[facts]") {
    const test::MadeFolder made;
    make_lists(made);
    make_device(made, {"i2c", "0-0035", "tide-chip", "tide_chip"});
    made.file("/proc/kallsyms",
              "0000 t power_off_all\n0000 t tide_probe\n0000 t tide_power_off\t[tide_chip]\n");
    const auto found = facts::read_power_off(made.root(), kernel).bound;
    REQUIRE(found);
    REQUIRE(found->size() == 1);
    CHECK(found->front().symbol == "tide_power_off");
}

TEST_CASE("a function belongs to a module by the begin of its name", "[facts]") {
    const std::string text = "0000 t genpd_power_off\n0000 t axp20x_pm_power_off\n"
                             "0000 t pm_power_off\n0000 T rk808_probe\n";
    CHECK(facts::power_off_symbol(text, "axp20x_i2c") == "axp20x_pm_power_off");
    CHECK(facts::power_off_symbol(text, "rk808").empty());
    CHECK(facts::power_off_symbol(text, "pm_other").empty());
    CHECK(facts::power_off_symbol("", "axp20x").empty());
}

TEST_CASE("EFI counts on arm64, and where its run-time services are not refused", "[facts]") {
    const test::MadeFolder made;
    made.folder("/sys/bus");
    const auto efi = [&](const char* machine) {
        return facts::read_power_off(made.root(), {"6.12.41-pontoon", machine}).efi;
    };
    CHECK_FALSE(*efi("aarch64"));
    made.folder("/sys/firmware/efi");
    CHECK_THAT(efi("aarch64").what_is_missing(), ContainsSubstring("/proc/cmdline"));
    made.file("/proc/cmdline", "console=ttyS0 efi=debug\n");
    CHECK(*efi("aarch64"));
    CHECK_FALSE(*efi("armv7l"));
    made.file("/proc/cmdline", "efi=debug,noruntime quiet\n");
    CHECK_FALSE(*efi("aarch64"));
    made.file("/proc/cmdline", "noefi\n");
    CHECK_FALSE(*efi("aarch64"));
}

TEST_CASE("without sysfs who is bound is not known", "[facts]") {
    const test::MadeFolder made;
    CHECK_THAT(facts::read_power_off(made.root(), kernel).bound.what_is_missing(),
               ContainsSubstring("/sys/bus"));
}
