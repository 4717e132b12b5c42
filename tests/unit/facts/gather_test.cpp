// SPDX-License-Identifier: MIT
#include "daemon/facts/boot_files.hpp"
#include "daemon/facts/gather.hpp"
#include "daemon/facts/polkit_rule.hpp"
#include "unit/facts/made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::EndsWith;

namespace {

const std::string config_txt = "/boot/firmware/config.txt";

std::vector<std::string> files_of(const Known<std::vector<bootfiles::Intent>>& intents) {
    std::vector<std::string> files;
    for (const bootfiles::Intent& intent : *intents) {
        files.push_back(intent.file);
    }
    return files;
}

}  // namespace

TEST_CASE("every boot loader's text is found and read by its own grammar", "[facts]") {
    const test::MadeFolder made;
    CHECK(facts::read_boot_files(made.root(), {})->empty());
    made.file("/boot/config-6.12", "CONFIG_A=y\n");
    CHECK(facts::read_boot_files(made.root(), {})->empty());
    made.file(config_txt, "dtoverlay=gpio-poweroff,gpiopin=6\n");
    made.file("/boot/config.txt", "The file has moved.\n");
    made.file("/boot/armbianEnv.txt", "overlays=release\n");
    made.file("/boot/extlinux/extlinux.conf", "label a\n  fdtoverlays /dtbo/release.dtbo\n");
    const auto intents = facts::read_boot_files(made.root(), {});
    REQUIRE(intents);
    CHECK(files_of(intents) == std::vector<std::string>{config_txt,
                                                        "/boot/armbianEnv.txt",
                                                        "/boot/extlinux/extlinux.conf"});
    CHECK(intents->at(0).overlays.at(0).name == "gpio-poweroff");
    CHECK(intents->at(2).loader == bootfiles::Loader::extlinux);
}

TEST_CASE("an older system's config.txt is where it used to be", "[facts]") {
    const test::MadeFolder made;
    made.file("/boot/config.txt", "dtoverlay=gpio-poweroff\n");
    CHECK(files_of(facts::read_boot_files(made.root(), {})) ==
          std::vector<std::string>{"/boot/config.txt"});
}

TEST_CASE("a boot partition that is not mounted is missing, not empty", "[facts]") {
    const test::MadeFolder made;
    made.folder("/boot/firmware");
    CHECK_THAT(facts::read_boot_files(made.root(), {}).what_is_missing(),
               ContainsSubstring("nothing is mounted at"));
}

TEST_CASE("an include is followed within the boot folder, and never out of it", "[facts]") {
    const test::MadeFolder made;
    made.file("/boot/firmware/more.txt", "dtoverlay=gpio-poweroff\n");
    made.file("/boot/secret.txt", "dtoverlay=gpio-shutdown\n");
    made.file(config_txt,
              "include more.txt\ninclude ../secret.txt\ninclude sub/../../secret.txt\n");
    const auto intents = facts::read_boot_files(made.root(), {});
    REQUIRE(intents);
    REQUIRE(intents->at(0).overlays.size() == 1);
    CHECK(intents->at(0).overlays[0].place.file == "/boot/firmware/more.txt");
    CHECK(facts::stays_below("sub/more.txt"));
    CHECK(facts::stays_below("a..b"));
    for (const std::string bad : {"", "..", "../x", "x/../y", "/..", "x/..", "/../x"}) {
        CHECK_FALSE(facts::stays_below(bad));
    }
}

TEST_CASE("a boot text that is too large or loops is missing, with its reason", "[facts]") {
    const test::MadeFolder made;
    made.file(config_txt, "#");
    std::filesystem::resize_file(made.root() + config_txt, 2'000'000);
    CHECK_THAT(facts::read_boot_files(made.root(), {}).what_is_missing(),
               ContainsSubstring("config.txt (larger than 1024 KiB)"));
    std::filesystem::remove(made.root() + config_txt);
    made.link(config_txt, "config.txt");
    CHECK_FALSE(facts::read_boot_files(made.root(), {}));
}

TEST_CASE("an image's permission to power off is known by our rule alone", "[facts]") {
    const test::MadeFolder made;
    CHECK_THAT(facts::power_off_by_rule(made.root()).what_is_missing(),
               ContainsSubstring("50-nightlatch.rules"));
    const std::string rule = "/usr/share/polkit-1/rules.d/50-nightlatch.rules";
    made.file(rule, "if (subject.user == \"tide-logger\") {");
    CHECK_THAT(facts::power_off_by_rule(made.root()).what_is_missing(),
               ContainsSubstring("for the account nightlatch (in none of"));
    made.file(rule, "if (subject.user == \"nightlatch\") {");
    CHECK(*facts::power_off_by_rule(made.root()) == "yes");
}

TEST_CASE("an image gives what its files say, and names the board for the rest", "[facts]") {
    const test::MadeFolder made;
    made.folder("/usr/lib/modules/6.12.41");
    made.file("/boot/config-6.12.41", "CONFIG_POWER_RESET_GPIO=y\n");
    made.file("/etc/sysctl.d/a.conf", "kernel.panic=10\n");
    made.file("/sys/firmware/devicetree/base/compatible", "x");
    const auto all = facts::gather({audit::Source::image, made.root()});
    CHECK(all.where == "the image at " + made.root());
    CHECK(all.kernel->minor == 12);
    CHECK(*all.driver.configured == audit::Built::in);
    CHECK(*all.hang.panic_seconds == 10);
    CHECK(all.boot->empty());
    CHECK_FALSE(all.login->may_power_off);
    CHECK_THAT(all.login->delay_limit.what_is_missing(), ContainsSubstring("systemd ("));
    CHECK_THAT(all.mounts.what_is_missing(), ContainsSubstring("/etc/fstab (not there)"));
    for (const std::string& missing : {all.tree.what_is_missing(),
                                       all.chips.what_is_missing(),
                                       all.driver.registered.what_is_missing(),
                                       all.driver.bound.what_is_missing(),
                                       all.driver.deferred.what_is_missing(),
                                       all.driver.log.what_is_missing(),
                                       all.pins.what_is_missing(),
                                       all.power_keys.what_is_missing(),
                                       all.login->inhibitors.what_is_missing(),
                                       all.watchdogs.what_is_missing(),
                                       all.leds.what_is_missing()}) {
        CHECK_THAT(missing, EndsWith(": only a running board knows"));
    }
}

TEST_CASE("a blob alone tells nothing of a board", "[facts]") {
    const auto all = facts::gather({audit::Source::files, ""});
    CHECK_THAT(all.kernel.what_is_missing(), ContainsSubstring("running board"));
    CHECK_FALSE(all.boot);
    CHECK_FALSE(all.hang.panic_seconds);
}

TEST_CASE("a running board's facts come from all its places", "[facts]") {
    const test::MadeFolder made;
    made.file("/sys/firmware/devicetree/base/compatible", std::string("harbour,tide-logger\0", 20));
    made.folder("/sys/class/leds");
    made.folder("/sys/bus/platform/drivers/poweroff-gpio");
    made.file("/proc/self/mountinfo", "21 1 179:2 / / rw - ext4 /dev/root rw\n");
    made.file("/etc/passwd", "nightlatch:x:990:980::/:\n");
    made.file("/etc/group", "");
    const auto all = facts::gather({audit::Source::live, made.root()});
    CHECK(all.where == "this machine");
    CHECK(all.tree->size() == 1);
    CHECK(all.kernel);
    CHECK(*all.driver.registered);
    CHECK(all.leds->empty());
    CHECK(all.mounts->size() == 1);
    CHECK(*all.account.exists);
    CHECK(all.boot->empty());
    CHECK_THAT(all.pins.what_is_missing(), ContainsSubstring("run as root"));
    CHECK_FALSE(all.login);  // another's to give
}

TEST_CASE("the machine that the tests run on is read to the end, whatever it has", "[facts]") {
    const auto all = facts::gather({audit::Source::live, ""});
    CHECK(all.kernel);
    CHECK(all.mounts);
    CHECK(all.hang.panic_seconds);
    CHECK((all.tree || !all.tree.what_is_missing().empty()));
}
