// SPDX-License-Identifier: MIT
#include "daemon/facts/hang.hpp"
#include "daemon/facts/mounts.hpp"
#include "daemon/facts/power_keys.hpp"
#include "daemon/facts/watchdogs.hpp"
#include "unit/facts/made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace std::chrono_literals;
using Catch::Matchers::ContainsSubstring;

namespace {

void make_keys(const test::MadeFolder& made, const std::string& event, const std::string& words) {
    const std::string input = "/sys/devices/platform/keys/input/input0";
    made.file(input + "/name", "front panel\n");
    made.file(input + "/capabilities/key", words + "\n");
    made.link(input + "/device", "../../../keys");
    made.file(input + "/" + event + "/dev", "13:64\n");
    made.link(input + "/" + event + "/device", "../../input0");
    made.link("/sys/devices/platform/keys/of_node", "../../../firmware/devicetree/base/keys");
    made.link("/sys/class/input/" + event, "../.." + input.substr(4) + "/" + event);
}

}  // namespace

TEST_CASE("the power keys among a device's keys are found, whatever the words' width", "[facts]") {
    using Codes = std::vector<unsigned>;
    CHECK(facts::power_codes("10000000000000 0", 64) == Codes{116});
    CHECK(facts::power_codes("100000 0 0 0", 32) == Codes{116});
    CHECK(facts::power_codes("1000000 1000000000 0 2000 4000 10000000000000 0", 64) ==
          Codes{116, 142, 205, 356, 408});
    CHECK(facts::power_codes("0", 64).empty());
    CHECK(facts::power_codes("", 64).empty());
    CHECK(facts::power_codes("zz 0", 64).empty());
    CHECK(facts::power_codes("fffffffffffffffff 0", 64).empty());
}

TEST_CASE("a device with a power key is told with its tag and its node", "[facts]") {
    const test::MadeFolder made;
    make_keys(made, "event0", sizeof(long) == 8 ? "10000000000000 0" : "100000 0 0 0");
    auto keys = facts::read_power_keys(made.root());
    REQUIRE(keys);
    REQUIRE(keys->size() == 1);
    CHECK(keys->front().device == "event0");
    CHECK(keys->front().name == "front panel");
    CHECK(keys->front().codes == std::vector<unsigned>{116});
    CHECK(keys->front().node == "/keys");
    CHECK_FALSE(keys->front().tagged);
    made.file("/run/udev/tags/power-switch/c13:64", "");
    CHECK(facts::read_power_keys(made.root())->front().tagged);
}

TEST_CASE("the tag that holds now counts, not one that a rule has taken away", "[facts]") {
    const test::MadeFolder made;
    make_keys(made, "event0", sizeof(long) == 8 ? "10000000000000 0" : "100000 0 0 0");
    made.file("/run/udev/tags/power-switch/c13:64", "");
    made.file("/run/udev/data/c13:64", "I:1\nG:power-switch\nQ:power-switch\nV:1\n");
    CHECK(facts::read_power_keys(made.root())->front().tagged);
    made.file("/run/udev/data/c13:64", "I:1\nG:power-switch\nV:1\n");
    CHECK_FALSE(facts::read_power_keys(made.root())->front().tagged);
    made.file("/run/udev/data/c13:64", "I:1\nG:power-switch\n");  // before version 247
    CHECK(facts::read_power_keys(made.root())->front().tagged);
}

TEST_CASE("a power key is told with its driver, its bus and who has it open", "[facts]") {
    const test::MadeFolder made;
    make_keys(made, "event0", sizeof(long) == 8 ? "10000000000000 0" : "100000 0 0 0");
    made.link("/sys/devices/platform/keys/driver", "../../../bus/platform/drivers/gpio-keys");
    made.file("/sys/class/input/event0/device/id/bustype", "0019\n");
    made.file("/proc/612/comm", "systemd-logind\n");
    made.link("/proc/612/fd/9", "/dev/input/event0");
    made.link("/proc/612/fd/10", "/dev/input/event1");
    made.file("/proc/700/comm", "tide-gauge\n");
    made.link("/proc/700/fd/3", "socket:[1]");
    made.file("/proc/uptime", "1 1\n");
    const auto keys = facts::read_power_keys(made.root());
    REQUIRE(keys);
    CHECK(keys->front().driver == "gpio-keys");
    CHECK(keys->front().bus == 0x19);
    CHECK_FALSE(keys->front().remote);
    REQUIRE(keys->front().readers);
    CHECK(*keys->front().readers == std::vector<std::string>{"systemd-logind (612)"});
}

TEST_CASE("a masked login manager is told from one that is not there", "[facts]") {
    const test::MadeFolder made;
    CHECK(*facts::read_login_unit(made.root()) == audit::LoginUnit::absent);
    made.file("/usr/lib/systemd/system/systemd-logind.service", "[Service]\n");
    CHECK(*facts::read_login_unit(made.root()) == audit::LoginUnit::there);
    made.link("/etc/systemd/system/systemd-logind.service", "/dev/null");
    CHECK(*facts::read_login_unit(made.root()) == audit::LoginUnit::masked);
}

TEST_CASE("devices without power keys are none, and no sysfs is not an answer", "[facts]") {
    const test::MadeFolder made;
    CHECK_THAT(facts::read_power_keys(made.root()).what_is_missing(),
               ContainsSubstring("/sys/class (not there)"));
    made.folder("/sys/class/net");
    CHECK(facts::read_power_keys(made.root())->empty());
    make_keys(made, "event1", "ff");
    made.link("/sys/class/input/event9", "../../gone");
    CHECK(facts::read_power_keys(made.root())->empty());
}

TEST_CASE("mounts are told by place, type and whether they can be written", "[facts]") {
    const auto mounts = facts::mounts_in(
        "21 1 179:2 / / rw,noatime shared:1 - ext4 /dev/root rw\n"
        "22 21 179:1 / /boot/firmware ro,relatime - vfat /dev/x rw,errors=remount-ro\n"
        "23 21 0:9 / /mnt/my\\040disk rw shared:2 master:1 - overlay overlay ro,lowerdir=/\n"
        "24 21 0:9 / /mnt/back\\0 rw - tmpfs t rw\n"
        "25 1 0:7 / / rw - overlay overlay rw\n"
        "cut 1 2\n26 1 0:7 / /x rw -\n\n");
    REQUIRE(mounts.size() == 4);
    CHECK(mounts[0].where == "/boot/firmware");
    CHECK(mounts[0].read_only);
    CHECK(mounts[1].where == "/mnt/my disk");
    CHECK(mounts[1].read_only);
    CHECK(mounts[2].where == "/mnt/back\\0");
    CHECK(mounts[3].where == "/");
    CHECK(mounts[3].type == "overlay");
    CHECK_FALSE(mounts[3].read_only);
    CHECK(facts::read_mounts("")->size() > 1);
    const test::MadeFolder made;
    CHECK_FALSE(facts::read_mounts(made.root()));
}

TEST_CASE("what the boot mounts is told by line, place, type and options", "[facts]") {
    const auto mounts = facts::boot_mounts_in("# what\n\n"
                                              "LABEL=root  /  ext4 noatime 0 1\n"
                                              "#LABEL=old /old ext4 defaults 0 0\n"
                                              "LABEL=tides\t/mnt/my\\040disk\text4\tro,nofail\n"
                                              "/dev/x /cut ext4\n");
    REQUIRE(mounts.size() == 2);
    CHECK(mounts[0].line == 3);
    CHECK(mounts[0].options == std::vector<std::string>{"noatime"});
    CHECK(mounts[1].line == 5);
    CHECK(mounts[1].where == "/mnt/my disk");
    CHECK(mounts[1].type == "ext4");
    CHECK(mounts[1].options == std::vector<std::string>{"ro", "nofail"});
    const test::MadeFolder made;
    CHECK(facts::read_boot_mounts(made.root())->empty());
    made.file("/etc/fstab", "LABEL=tides /data ext4 defaults 0 2\n");
    CHECK(facts::read_boot_mounts(made.root())->size() == 1);
}

TEST_CASE("a watchdog tells what its kernel shows, and misses what it does not", "[facts]") {
    const test::MadeFolder made;
    CHECK_FALSE(facts::read_watchdogs(made.root()));
    made.folder("/sys/class/net");
    CHECK(facts::read_watchdogs(made.root())->empty());
    const std::string first = "/sys/class/watchdog/watchdog0/";
    made.file(first + "identity", "SoC watchdog\n");
    made.file(first + "state", "active\n");
    made.file(first + "timeout", "16\n");
    made.file(first + "nowayout", "0\n");
    made.folder("/sys/class/watchdog/watchdog1");
    const auto watchdogs = facts::read_watchdogs(made.root());
    REQUIRE(watchdogs->size() == 2);
    CHECK(watchdogs->front().identity == "SoC watchdog");
    CHECK(*watchdogs->front().active);
    CHECK(*watchdogs->front().timeout == 16s);
    CHECK_FALSE(*watchdogs->front().nowayout);
    CHECK_THAT(watchdogs->back().active.what_is_missing(), ContainsSubstring("state (not there)"));
    CHECK_FALSE(watchdogs->back().timeout);
}

TEST_CASE("what the kernel does when it hangs is read from its own files", "[facts]") {
    const test::MadeFolder made;
    CHECK_FALSE(facts::read_hang(made.root()).panic_seconds);
    made.file("/proc/sys/kernel/panic", "-1\n");
    made.file("/proc/sys/kernel/sysrq", "438\n");
    made.file("/proc/sys/kernel/panic_on_oops", "1\n");
    const auto hang = facts::read_hang(made.root());
    CHECK(*hang.panic_seconds == -1);
    CHECK(*hang.sysrq == 438);
    CHECK(*hang.panic_on_oops);
}

TEST_CASE("an image's setting is the last in the order of the files' names", "[facts]") {
    CHECK(facts::sysctl_in("kernel.panic=5\n-kernel/panic = 10 \n", "kernel.panic") == "10");
    CHECK_FALSE(facts::sysctl_in("# kernel.panic=5\n;kernel.panic=5\nkernel.panic_x=1\n-\n=\n",
                                 "kernel.panic"));
    const test::MadeFolder made;
    CHECK_THAT(facts::hang_of_image(made.root()).panic_seconds.what_is_missing(),
               ContainsSubstring("kernel.panic (the image sets none"));
    made.file("/usr/lib/sysctl.d/50-a.conf", "kernel.panic = 1\nkernel.sysrq = 16\n");
    made.file("/usr/lib/sysctl.d/90-b.conf", "kernel.panic = 2\n");
    made.file("/etc/sysctl.d/90-b.conf", "kernel.panic_on_oops = 1\n");
    made.file("/etc/sysctl.d/99-note.txt", "kernel.panic = 9\n");
    const auto hang = facts::hang_of_image(made.root());
    CHECK(*hang.panic_seconds == 1);
    CHECK(*hang.sysrq == 16);
    CHECK(*hang.panic_on_oops);
}
