// SPDX-License-Identifier: MIT
#include "daemon/facts/deferred.hpp"
#include "daemon/facts/driver.hpp"
#include "daemon/facts/of_node.hpp"
#include "unit/facts/made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using Catch::Matchers::ContainsSubstring;

namespace {

const std::string drivers = "/sys/bus/platform/drivers";
const std::string driver = drivers + "/poweroff-gpio";
const std::string devices = "/sys/devices/platform";
const std::string base = "../../../firmware/devicetree/base";

void make_device(const test::MadeFolder& made, const std::string& name, const std::string& node) {
    made.folder(devices + "/" + name);
    made.link(devices + "/" + name + "/of_node", base + node);
    made.link("/sys/bus/platform/devices/" + name, "../../../devices/platform/" + name);
}

}  // namespace

TEST_CASE("a device's node is what its link has after the base", "[facts]") {
    CHECK(facts::node_in_link("../../../firmware/devicetree/base/soc/gpio@200") == "/soc/gpio@200");
    CHECK(facts::node_in_link("../../firmware/devicetree/base") == "/");
    CHECK(facts::node_in_link("../../firmware/devicetree/basement/x").empty());
    CHECK(facts::node_in_link("../../elsewhere").empty());
    const test::MadeFolder made;
    made.folder("/sys/devices/bare");
    CHECK(facts::node_of_device(made.root(), "/sys/devices/bare").empty());
}

TEST_CASE("a driver that is compiled in has its folder, and a link for each bound device",
          "[facts]") {
    const test::MadeFolder made;
    make_device(made, "release", "/release");
    made.folder("/sys/module/kernel");
    made.file(driver + "/bind", "");
    made.link(driver + "/release", "../../../../devices/platform/release");
    made.link(driver + "/module", "../../../../module/kernel");
    const auto found = facts::read_post_halt_driver(made.root());
    CHECK(*found.registered);
    CHECK(*found.bound == std::vector<std::string>{"/release"});
}

TEST_CASE("a driver that is in but bound to nothing, and one that is left out", "[facts]") {
    const test::MadeFolder made;
    made.folder(drivers + "/other");
    auto found = facts::read_post_halt_driver(made.root());
    CHECK_FALSE(*found.registered);
    CHECK(found.bound->empty());
    made.folder(driver);
    found = facts::read_post_halt_driver(made.root());
    CHECK(*found.registered);
    CHECK(found.bound->empty());
}

TEST_CASE("without sysfs nothing is said of the driver", "[facts]") {
    const test::MadeFolder made;
    const auto found = facts::read_post_halt_driver(made.root());
    CHECK_THAT(found.registered.what_is_missing(), ContainsSubstring(drivers + " (not there)"));
    CHECK_FALSE(found.bound);
}

TEST_CASE("the kernel's list of waiting devices is told by their nodes", "[facts]") {
    CHECK(
        facts::deferred_devices("release\tplatform: wait for supplier gpio\n\tmore\nleds\t\n\n") ==
        std::vector<std::string>{"release", "leds"});
    CHECK(facts::deferred_devices("../../etc\t\n..\tx\n").empty());
    const test::MadeFolder made;
    make_device(made, "release", "/release");
    make_device(made, "leds", "/leds");
    made.file("/sys/kernel/debug/devices_deferred", "release\tsupplier not ready\nnameless\t\n");
    CHECK(*facts::read_deferred(made.root()) == std::vector<std::string>{"/release"});
}

TEST_CASE("without the list, a device that waits is told, and none proves nothing", "[facts]") {
    const test::MadeFolder made;
    make_device(made, "release", "/release");
    made.file(devices + "/release/waiting_for_supplier", "0\n");
    CHECK_THAT(facts::read_deferred(made.root()).what_is_missing(),
               ContainsSubstring("run as root"));
    made.file(devices + "/release/waiting_for_supplier", "1\n");
    CHECK(*facts::read_deferred(made.root()) == std::vector<std::string>{"/release"});
}
