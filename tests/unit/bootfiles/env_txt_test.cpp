// SPDX-License-Identifier: MIT
// Sources: [armbian/documentation, docs/User-Guide_Armbian_overlays.md] for the names, [u-boot
// lib/hashtable.c, himport_r] for what `env import -t` makes of a text, [armbian/build,
// config/bootscripts/boot-rockchip64.cmd] for the paths.
#include "bootfiles/env_txt.hpp"
#include "intents.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::bootfiles;
using test::overlays_of;
using test::remarks_of;

namespace {

Intent env_txt(std::string_view text) {
    return read_env_txt("armbianEnv.txt", text);
}

}  // namespace

TEST_CASE("the guide's own example is read as it describes it", "[bootfiles]") {
    const Intent intent = env_txt("verbosity=1\n"
                                  "console=serial\n"
                                  "overlay_prefix=sun8i-h3\n"
                                  "rootdev=UUID=bd0ded76-1188-4b52-a20a-64f326c1f193\n"
                                  "rootfstype=ext4\n"
                                  "overlays=w1-gpio uart1 i2c0 spi-spidev\n"
                                  "param_w1_pin=PA20\n"
                                  "param_w1_pin_int_pullup=1\n"
                                  "param_uart1_rtscts=1\n"
                                  "param_spidev_spi_bus=0\n");
    CHECK(overlays_of(intent) == "6 yes w1-gpio param_w1_pin=PA20? param_w1_pin_int_pullup=1?\n"
                                 "6 yes uart1 param_uart1_rtscts=1?\n"
                                 "6 yes i2c0\n"
                                 "6 yes spi-spidev param_spidev_spi_bus=0?\n");
    CHECK(intent.overlays[0].file == "overlay/sun8i-h3-w1-gpio.dtbo");
    CHECK(intent.overlays[0].parameters[1].place.line == 8);
    CHECK(remarks_of(intent).empty());
    CHECK(intent.loader == Loader::env_txt);
}

TEST_CASE("overlays of one's own lie in a folder of their own, without a prefix", "[bootfiles]") {
    const Intent intent = env_txt("user_overlays=supply-release.dtbo  button\toverlay_prefix=x\n");
    REQUIRE(intent.overlays.size() == 3);
    CHECK(intent.overlays[0].name == "supply-release");
    CHECK(intent.overlays[1].file == "overlay-user/button.dtbo");
}

TEST_CASE("without a prefix in the text the script's own counts, and no path is claimed",
          "[bootfiles]") {
    CHECK(env_txt("overlays=i2c0\n").overlays.at(0).file.empty());
    CHECK(env_txt("overlay_prefix=\noverlays=i2c0\n").overlays.at(0).file.empty());
    // The prefix may stand after the overlays: the script looks when all is imported.
    CHECK(env_txt("overlays=i2c0\noverlay_prefix=rk3588\n").overlays.at(0).file ==
          "overlay/rk3588-i2c0.dtbo");
}

TEST_CASE("of two lines of one name the last holds", "[bootfiles]") {
    // "No more than one `overlays` line and one `user_overlays` line can be present".
    const Intent intent = env_txt("overlays=a b\nuser_overlays=c\noverlays=d\n");
    CHECK(overlays_of(intent) == "1 no a line 3 takes its place\n"
                                 "1 no b line 3 takes its place\n"
                                 "2 yes c\n"
                                 "3 yes d\n");
    CHECK(remarks_of(intent) ==
          "3 repeated: \"overlays\" stands on line 1 too: the last one holds\n");
    // himport_r: "deal with "name" and "name=" entries (delete var)".
    CHECK(overlays_of(env_txt("overlays=a\noverlays=\n")) == "1 no a line 2 takes its place\n");
}

TEST_CASE("leading blanks and comments are ignored", "[bootfiles]") {
    // himport_r: "leading white space (sequences of SPACE and TAB chars) is ignored".
    CHECK(overlays_of(env_txt(" # overlays=x\n\n \t overlays=a\n")) == "3 yes a\n");
}

TEST_CASE("a blank before the equals sign makes another name", "[bootfiles]") {
    const Intent intent = env_txt("overlays =a\n");
    CHECK(intent.overlays.empty());
    CHECK(remarks_of(intent) ==
          "1 malformed: the blank before \"=\" is part of the name: no script asks for it\n");
}

TEST_CASE("quotes are part of the names that they stand at", "[bootfiles]") {
    const Intent intent = env_txt("overlays=\"a b c\"\n");
    CHECK(overlays_of(intent) == "1 no \"a the quotes are part of its name\n"
                                 "1 yes b\n"
                                 "1 no c\" the quotes are part of its name\n");
    CHECK(remarks_of(intent) == "1 malformed: quotes are part of the names here: leave them out\n");
}

TEST_CASE("a carriage return becomes part of the last name", "[bootfiles]") {
    // himport_r: only crlf_is_lf (import -r) removes it, and the scripts import without.
    const Intent intent = env_txt("overlays=a b\r\n\r\nuser_overlays=c\n");
    CHECK(overlays_of(intent) == "1 yes a\n"
                                 "1 depends b whether the script takes the carriage return off\n"
                                 "3 yes c\n");
    CHECK(remarks_of(intent) == "1 malformed: the line ends with a carriage return, which becomes "
                                "part of its last name: save the file with plain line ends\n");
    CHECK(overlays_of(env_txt("overlay_prefix=p\r\noverlays=a b\nuser_overlays=c\n")) ==
          "2 depends a whether the script takes the carriage return off\n"
          "2 depends b whether the script takes the carriage return off\n"
          "3 yes c\n");
}

TEST_CASE("a backslash continues a value on the next line", "[bootfiles]") {
    // himport_r: "backslash is used as escape character in the value part".
    CHECK(overlays_of(env_txt("overlays=a \\\nb\nuser_overlays=c\n")) ==
          "1 yes a\n1 yes b\n3 yes c\n");
    CHECK(overlays_of(env_txt("overlays=a\\b\n")) == "1 yes ab\n");
    CHECK(overlays_of(env_txt("overlays=a\\")) == "1 yes a\\\n");
}

TEST_CASE("a line that is not an assignment is named, and one that begins with = ends the import",
          "[bootfiles]") {
    CHECK(remarks_of(env_txt("overlays\n")) ==
          "1 malformed: \"overlays\" is not an assignment: one is written as name=value\n");
    const Intent intent = env_txt("overlays=a\n=x\noverlays=b\n");
    CHECK(overlays_of(intent) == "1 yes a\n");
    CHECK(remarks_of(intent) ==
          "2 malformed: a line that begins with \"=\" ends the import: nothing "
          "after it is read\n");
}

TEST_CASE("a NUL byte ends the environment's text", "[bootfiles]") {
    const Intent intent = env_txt(std::string_view("overlays=a\n\0overlays=b\n", 23));
    CHECK(overlays_of(intent) == "1 yes a\n");
    CHECK(remarks_of(intent) == "2 malformed: a NUL byte; what follows it is not read\n");
}

TEST_CASE("a parameter whose overlay cannot be guessed is nobody's", "[bootfiles]") {
    CHECK(overlays_of(env_txt("overlays=uart1\nparam_w1_pin=PA1\nparam_=1\nparam=2\n")) ==
          "1 yes uart1\n");
    // Of a repeated one the last value counts.
    CHECK(overlays_of(env_txt("overlays=uart1\nparam_uart1_x=1\nparam_uart1_x=2\n")) ==
          "1 yes uart1 param_uart1_x=2?\n");
}

TEST_CASE("an environment that is too long is read to the limit", "[bootfiles]") {
    const Intent lines = env_txt(std::string(65'536, '\n') + "overlays=a\n");
    CHECK(lines.overlays.empty());
    CHECK(remarks_of(lines).find("too_long") != std::string::npos);
    const Intent bytes = env_txt("overlays=a\nx=" + std::string(1U << 20U, 'x') + "\noverlays=b\n");
    CHECK(overlays_of(bytes) == "1 yes a\n");
    CHECK(remarks_of(bytes).find("too_long") != std::string::npos);
}

TEST_CASE("overlays by their paths count with the master switch beside them", "[bootfiles]") {
    // As the uEnv.txt that such systems bring has it: elinux.org,
    // Beagleboard:BeagleBoneBlack_Debian, U-Boot Overlays.
    const std::string lines = "uboot_overlay_addr0=/lib/firmware/BB-CAN0-00A0.dtbo\n"
                              "uboot_overlay_addr4=tide-off.dtbo\n"
                              "#uboot_overlay_addr5=/lib/firmware/none.dtbo\n"
                              "uboot_overlay_addrs=/lib/firmware/none.dtbo\n"
                              "dtb_overlay=/lib/firmware/last.dtbo\n";
    const Intent on = read_env_txt("uEnv.txt", "enable_uboot_overlays=1\n" + lines);
    CHECK(overlays_of(on) == "2 yes BB-CAN0-00A0\n3 yes tide-off\n6 yes last\n");
    CHECK(on.overlays[1].file == "/lib/firmware/tide-off.dtbo");
    CHECK(on.overlay_word == "uboot_overlay_addr5=/lib/firmware/");
    const Intent off = read_env_txt("uEnv.txt", lines);
    REQUIRE(off.overlays.size() == 3);
    CHECK(off.overlays[0].certainty == Certainty::no);
    CHECK(off.overlays[0].condition == "enable_uboot_overlays=1 is not set");
}

TEST_CASE("a list of paths is one that only some boot scripts read", "[bootfiles]") {
    const Intent intent = read_env_txt("uEnv.txt", "fdtoverlays=a.dtbo /dtbo/b.dtbo\n");
    REQUIRE(intent.overlays.size() == 2);
    CHECK(intent.overlays[0].certainty == Certainty::depends);
    CHECK(intent.overlays[0].condition == "the boot script reading fdtoverlays");
    CHECK(intent.overlays[1].file == "/dtbo/b.dtbo");
}

TEST_CASE("the word that loads an overlay is the one that the text shows", "[bootfiles]") {
    CHECK(read_env_txt("armbianEnv.txt", "").overlay_word == "user_overlays=");
    CHECK(read_env_txt("tideEnv.txt", "overlay_prefix=a\n").overlay_word == "user_overlays=");
    CHECK(read_env_txt("uEnv.txt", "name_overlays=a.dtbo\n").overlay_word == "name_overlays=");
    CHECK(read_env_txt("uEnv.txt", "uname_r=6.12\n").overlay_word.empty());
}

TEST_CASE("a text that a program writes says so at its top", "[bootfiles]") {
    CHECK(
        writer_of("# Do not modify this file!\n#\n# It is automatically generated upon install or "
                  "update of either the\n# firmware or the Linux kernel.\n#\n# If you need to set "
                  "boot-time parameters, do so via the\n# /etc/default/raspi-firmware, "
                  "/etc/default/raspi-firmware-custom or\n# /etc/default/raspi-extra-cmdline "
                  "files.\n") == Writer::raspi_firmware);
    CHECK(writer_of(
              "## /boot/extlinux/extlinux.conf\n##\n## IMPORTANT WARNING\n##\n## The "
              "configuration of this file is generated automatically.\n## Do not edit this file "
              "manually, use: u-boot-update\n") == Writer::u_boot_menu);
    CHECK(writer_of("dtparam=/etc/default/raspi-firmware-custom\n") == Writer::nobody);
    CHECK(writer_of(std::string(2000, '\n') + "# use: u-boot-update\n") == Writer::nobody);
    CHECK(writer_of("") == Writer::nobody);
}
