// SPDX-License-Identifier: MIT
#include "daemon/facts/boot_files.hpp"
#include "daemon/facts/overlay_files.hpp"
#include "unit/facts/made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using bootfiles::FileSeen;
using Catch::Matchers::ContainsSubstring;

namespace {

const std::string config_txt = "/boot/firmware/config.txt";

bootfiles::Intent first_of(const test::MadeFolder& made) {
    return facts::read_boot_files(made.root(), {})->at(0);
}

}  // namespace

TEST_CASE("an overlay is looked for where its loader would", "[facts]") {
    const test::MadeFolder made;
    made.file(config_txt, "dtoverlay=tide\n");
    CHECK(first_of(made).overlays.at(0).content.seen == FileSeen::missing);
    CHECK_THAT(first_of(made).overlays.at(0).content.where,
               ContainsSubstring("/boot/firmware/overlays/tide.dtbo"));
    CHECK(first_of(made).parametric_overlay == FileSeen::missing);
    made.file("/boot/firmware/overlays/tide.dtbo", "");
    made.file("/boot/firmware/overlays/gpio-poweroff.dtbo", "");
    CHECK(first_of(made).overlays.at(0).content.seen == FileSeen::there);
    CHECK(first_of(made).parametric_overlay == FileSeen::there);
}

TEST_CASE("what the firmware's map renames, or a prefix moves, is not missed", "[facts]") {
    const test::MadeFolder made;
    made.file(config_txt, "dtoverlay=tide\n");
    made.file("/boot/firmware/overlays/overlay_map.dtb", std::string("\0\0\0\1tide\0", 9));
    CHECK(first_of(made).overlays.at(0).content.seen == FileSeen::not_looked);
    made.file("/boot/firmware/overlays/overlay_map.dtb", std::string("\0\0\0\1tides\0", 10));
    CHECK(first_of(made).overlays.at(0).content.seen == FileSeen::missing);
    made.file(config_txt, "os_prefix=new/\ndtoverlay=tide\n");
    CHECK(first_of(made).overlays.at(0).content.seen == FileSeen::not_looked);
}

TEST_CASE("of an overlay's file that cannot be read nothing is claimed", "[facts]") {
    const test::MadeFolder made;
    made.file(config_txt, "dtoverlay=tide\n");
    made.folder("/boot/firmware/overlays/tide.dtbo");
    const auto content = first_of(made).overlays.at(0).content;
    CHECK(content.seen == FileSeen::not_looked);
    CHECK_THAT(content.where, ContainsSubstring("not a regular file"));
}

TEST_CASE("a line that its source has too outlasts the program that writes the text", "[facts]") {
    const test::MadeFolder made;
    made.file(config_txt, "# /etc/default/raspi-firmware-custom\ndtoverlay=a\ndtoverlay=b\n");
    made.file("/etc/default/raspi-firmware-custom", "dtoverlay=b\n");
    const auto intent = first_of(made);
    CHECK_FALSE(intent.overlays.at(0).lasts);
    CHECK(intent.overlays.at(1).lasts);
}

TEST_CASE("more boot texts than any system has are too many, and are not all read", "[facts]") {
    const test::MadeFolder made;
    for (int i = 0; i < 100; ++i) {
        made.file("/boot/" + std::to_string(i) + "Env.txt", "verbosity=1\n");
    }
    CHECK_THAT(facts::read_boot_files(made.root(), {}).what_is_missing(),
               ContainsSubstring("too many such files"));
}

TEST_CASE("bytes that are no overlay hold no node", "[facts]") {
    CHECK_FALSE(facts::post_halt_in_overlay(""));
    CHECK_FALSE(facts::post_halt_in_overlay(std::string(4096, '\xd0')));
}
