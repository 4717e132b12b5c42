// SPDX-License-Identifier: MIT
#include "daemon/facts/kernel.hpp"
#include "daemon/facts/kernel_config.hpp"
#include "daemon/facts/kernel_facts.hpp"
#include "daemon/facts/kernel_log.hpp"
#include "unit/facts/made.hpp"

#include <array>
#include <vector>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <zlib.h>

using namespace nightlatch;
using audit::Built;
using Catch::Matchers::ContainsSubstring;

namespace {

std::string packed(std::string text) {
    z_stream stream{};
    constexpr int gzip = 16;
    deflateInit2(&stream, 9, Z_DEFLATED, MAX_WBITS + gzip, 8, Z_DEFAULT_STRATEGY);
    std::string bytes(deflateBound(&stream, text.size()), '\0');
    stream.next_in = reinterpret_cast<Bytef*>(text.data());
    stream.avail_in = static_cast<uInt>(text.size());
    stream.next_out = reinterpret_cast<Bytef*>(bytes.data());
    stream.avail_out = static_cast<uInt>(bytes.size());
    deflate(&stream, Z_FINISH);
    bytes.resize(stream.total_out);
    deflateEnd(&stream);
    return bytes;
}

const std::string has_it = "CONFIG_OF=y\nCONFIG_POWER_RESET=y\nCONFIG_POWER_RESET_GPIO=y\n";

}  // namespace

TEST_CASE("a kernel's release gives its version, and what is none gives nothing", "[facts]") {
    CHECK(facts::kernel_version("6.12.41+deb13-arm64")->minor == 12);
    CHECK(facts::kernel_version("6.1-rc1")->major == 6);
    CHECK(facts::kernel_version("6.12.41-arm64")->release == "6.12.41-arm64");
    for (const char* bad : {"", "6", "6.", "six.one", ".1", "99999999999.1"}) {
        CHECK_FALSE(facts::kernel_version(bad));
    }
    CHECK(facts::running_kernel());
}

TEST_CASE("an image's kernel is known by its modules when all are of one version", "[facts]") {
    const test::MadeFolder made;
    const auto kernel = [&] { return facts::kernel_among(facts::kernels_of_image(made.root())); };
    CHECK_THAT(kernel().what_is_missing(), ContainsSubstring("/lib/modules (not there)"));
    made.folder("/usr/lib/modules/left-over");
    CHECK_THAT(kernel().what_is_missing(), ContainsSubstring("holds no modules"));
    made.folder("/usr/lib/modules/6.12.41-arm64");
    CHECK(kernel()->release == "6.12.41-arm64");
    made.folder("/usr/lib/modules/6.12.9-arm64");
    CHECK(kernel()->minor == 12);
    made.folder("/usr/lib/modules/6.1.90-arm64");
    CHECK_THAT(kernel().what_is_missing(),
               ContainsSubstring("(6.1.90-arm64, 6.12.41-arm64, 6.12.9-arm64)"));
}

TEST_CASE("an image whose /lib is a folder of its own has its modules there", "[facts]") {
    const test::MadeFolder made;
    made.folder("/lib/modules/5.10.9");
    CHECK(facts::kernels_of_image(made.root())->at(0).minor == 10);
}

TEST_CASE("several kernels decide about the driver where all are built alike", "[facts]") {
    const test::MadeFolder made;
    const auto built = [&] {
        return facts::post_halt_config_of(made.root(), facts::kernels_of_image(made.root()));
    };
    CHECK_THAT(built().what_is_missing(), ContainsSubstring("/lib/modules (not there)"));
    made.folder("/usr/lib/modules/6.1.90");
    made.folder("/usr/lib/modules/6.12.41");
    made.file("/boot/config-6.1.90", has_it);
    CHECK_THAT(built().what_is_missing(), ContainsSubstring("/boot/config-6.12.41"));
    made.file("/boot/config-6.12.41", has_it);
    CHECK(*built() == Built::in);
    made.file("/boot/config-6.12.41", "CONFIG_A=y\n");
    CHECK_THAT(built().what_is_missing(),
               ContainsSubstring("which of the image's kernels boots (6.1.90, 6.12.41)"));
}

TEST_CASE("the driver is in, a module, or out, by the kernel's configuration", "[facts]") {
    CHECK(*facts::post_halt_in_config(has_it, "f") == Built::in);
    CHECK(*facts::post_halt_in_config("CONFIG_POWER_RESET_GPIO=m\n", "f") == Built::module);
    CHECK(*facts::post_halt_in_config("CONFIG_A=y\n# CONFIG_POWER_RESET_GPIO is not set\n", "f") ==
          Built::out);
    CHECK(*facts::post_halt_in_config("CONFIG_A=y\n", "f") == Built::out);
    CHECK(*facts::post_halt_in_config("CONFIG_A=y\nCONFIG_POWER_RESET_GPIO_RESTART=y\n", "f") ==
          Built::out);
    CHECK_FALSE(facts::post_halt_in_config("<html>", "f"));
    CHECK_FALSE(facts::post_halt_in_config("", "f"));
}

TEST_CASE("the configuration is read from /boot, else from the kernel itself", "[facts]") {
    const test::MadeFolder made;
    CHECK_THAT(facts::read_post_halt_config(made.root(), "6.12").what_is_missing(),
               ContainsSubstring("/boot/config-6.12"));
    made.file("/proc/config.gz", packed(has_it));
    CHECK(*facts::read_post_halt_config(made.root(), "6.12") == Built::in);
    made.file("/boot/config-6.12", "CONFIG_A=y\n");
    CHECK(*facts::read_post_halt_config(made.root(), "6.12") == Built::out);
}

TEST_CASE("gzip data that is cut, broken or unpacks without end is refused", "[facts]") {
    const std::string whole = packed(has_it);
    CHECK(*facts::unpacked(whole, 1000) == has_it);
    for (std::size_t size = 0; size < whole.size(); ++size) {
        CHECK_FALSE(facts::unpacked(std::string_view(whole).substr(0, size), 1000));
    }
    std::string broken = whole;
    broken[broken.size() - 6] ^= 1;  // of the checksum
    CHECK_FALSE(facts::unpacked(broken, 1000));
    CHECK_FALSE(facts::unpacked(packed(std::string(1'000'000, 'x')), 10'000));
}

TEST_CASE("a record of the kernel's log is its number and its text", "[facts]") {
    const auto record = facts::log_record("6,339,5140900,-;NET: registered; really");
    REQUIRE(record);
    CHECK(record->number == 339);
    CHECK(record->text == "NET: registered; really");
    CHECK(facts::log_record("6,0,0;x"));
    for (const char* bad :
         {"", " DEVICE=c1:3", " a,1;b", "text", "6;text", "6,x,1;t", "6,1", ",;"}) {
        CHECK_FALSE(facts::log_record(bad));
    }
}

TEST_CASE("of the kernel's log the lines about power-off are kept, newest last", "[facts]") {
    const test::MadeFolder made;
    made.file("/dev/kmsg",
              "6,0,0,-;Booting Linux\n SUBSYSTEM=poweroff-gpio\n"
              "3,17,90,-;poweroff-gpio release: gpio_poweroff_probe: pm_power_off function already "
              "registered\n"
              "6,18,91,-;Poweroff handler already present!\n");
    const auto lines = facts::read_power_off_log(made.root());
    REQUIRE(lines);
    REQUIRE(lines->size() == 2);
    CHECK_THAT(lines->front(), ContainsSubstring("already registered"));
    CHECK(lines->back() == "Poweroff handler already present!");
}

TEST_CASE("a log whose beginning is gone proves no silence", "[facts]") {
    const test::MadeFolder made;
    made.file("/dev/kmsg", "6,900,1,-;late news\n");
    CHECK_THAT(facts::read_power_off_log(made.root()).what_is_missing(),
               ContainsSubstring("journalctl -k"));
    made.file("/dev/kmsg", "6,900,1,-;Power off not available: System halted instead\n");
    CHECK(facts::read_power_off_log(made.root())->size() == 1);
    made.file("/dev/kmsg", "6,0,1,-;all is told\n");
    CHECK(facts::read_power_off_log(made.root())->empty());
}

TEST_CASE("a machine without the kernel's log says so", "[facts]") {
    const test::MadeFolder made;
    CHECK_THAT(facts::read_power_off_log(made.root()).what_is_missing(),
               ContainsSubstring("/dev/kmsg (not there)"));
}

TEST_CASE("the command line and the installed kernels are read, and what is not a release is none",
          "[facts]") {
    const test::MadeFolder made;
    made.file("/proc/cmdline", "console=ttyS0 root=/dev/vda\n");
    made.file("/usr/lib/modules/6.1.0-38-arm64/modules.dep", "");
    made.file("/usr/lib/modules/6.12.41+deb13-arm64/modules.dep", "");
    made.file("/usr/lib/modules/extra/module.ko", "");
    const audit::KernelFacts facts = facts::read_kernel_facts(made.root());
    CHECK(*facts.arguments == "console=ttyS0 root=/dev/vda");
    CHECK(*facts.installed == std::vector<std::string>{"6.1.0-38-arm64", "6.12.41+deb13-arm64"});
}

TEST_CASE("a system without modules has no installed kernel", "[facts]") {
    const test::MadeFolder made;
    const audit::KernelFacts facts = facts::read_kernel_facts(made.root());
    CHECK_FALSE(facts.arguments);
    CHECK(facts.installed->empty());
}
