// SPDX-License-Identifier: MIT
// The grammar of a line, of includes and of prefixes. Sources:
// raspberrypi/documentation, documentation/asciidoc/computers/config_txt (named below by page) and
// configuration/device-tree.adoc.
#include "intents.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::bootfiles;
using test::config_txt;
using test::overlays_of;
using test::remarks_of;

TEST_CASE("a setting is name=value on a line of its own", "[bootfiles]") {
    // what_is_config_txt.adoc, File Format: its example file.
    const Intent intent = config_txt("# Enable audio (loads snd_bcm2835)\n"
                                     "dtparam=audio=on\n"
                                     "\n"
                                     "camera_auto_detect=1\n"
                                     "dtoverlay=vc4-kms-v3d\n"
                                     "max_framebuffers=2\n");
    CHECK(overlays_of(intent) == "5 yes vc4-kms-v3d\n");
    CHECK(remarks_of(intent).empty());
    CHECK(intent.loader == Loader::config_txt);
    CHECK(intent.file == "config.txt");
}

TEST_CASE("lines may begin with blanks, and may end as on another system", "[bootfiles]") {
    // conditional.adoc shows " [HDMI:0]" and "   hdmi_group=2".
    CHECK(
        overlays_of(config_txt("  [pi4]\r\n\tdtoverlay=gpio-poweroff\r\n  dtparam=gpiopin=6\r")) ==
        "2 yes gpio-poweroff gpiopin=6\n");
}

TEST_CASE("names are case-sensitive", "[bootfiles]") {
    // ubuntu.com, Edit the Raspberry Pi boot configuration.
    const Intent intent = config_txt("DTOVERLAY=gpio-poweroff\n");
    CHECK(intent.overlays.empty());
    CHECK(remarks_of(intent) == "1 malformed: the firmware knows no setting \"DTOVERLAY\" and "
                                "ignores it; the nearest is \"dtoverlay\"\n");
}

TEST_CASE("the long names of dtoverlay and dtparam are taken too", "[bootfiles]") {
    // device-tree.adoc, Shortcuts and syntax variants.
    CHECK(overlays_of(
              config_txt("device_tree_overlay=gpio-poweroff\ndevice_tree_param=gpiopin=6\n")) ==
          "1 yes gpio-poweroff gpiopin=6\n");
    CHECK(remarks_of(config_txt("device_tree=my.dtb\ndtdebug=1\nkernel=test.img\n")).empty());
}

TEST_CASE("what stands after column 98 is not there", "[bootfiles]") {
    // what_is_config_txt.adoc: "any characters past this limit will be ignored".
    const std::string full = "dtoverlay=gpio-poweroff,gpiopin=6,active_low=1,inactive_delay_ms=100,"
                             "timeout_ms=30,active_delay_ms";
    REQUIRE(full.size() == 98);
    CHECK(remarks_of(config_txt(full + "\n")).empty());
    const Intent intent = config_txt("#\n" + full + "=2000\n");
    CHECK(remarks_of(intent) == "2 cut: the line is longer than 98 characters, and the firmware "
                                "ignores the rest: \"=2000\"\n");
    // The loader sees a bare name, which means "on".
    CHECK(overlays_of(intent) ==
          "2 yes gpio-poweroff gpiopin=6 active_low=1 inactive_delay_ms=100 timeout_ms=30 "
          "active_delay_ms\n");
}

TEST_CASE("a long comment, or blanks at the end of a line, lose nothing", "[bootfiles]") {
    CHECK(remarks_of(config_txt("# " + std::string(200, 'x') + "\ndtoverlay=gpio-fan" +
                                std::string(100, ' ') + "\n"))
              .empty());
}

TEST_CASE("blanks beside the equals sign leave it open whether the overlay is loaded",
          "[bootfiles]") {
    // ubuntu.com (as above) says they are not ignored; raspberrypi/utils dtapply takes them off.
    for (const char* const line : {"dtoverlay = gpio-poweroff", "dtoverlay= gpio-poweroff"}) {
        const Intent intent = config_txt(line);
        CHECK(overlays_of(intent) ==
              "1 depends gpio-poweroff whether blanks beside \"=\" are taken "
              "off\n");
        CHECK(remarks_of(intent) ==
              "1 malformed: blanks beside \"=\" may be part of the name or of "
              "the value: leave them out\n");
    }
}

TEST_CASE("a comment after a setting leaves it open too", "[bootfiles]") {
    // ubuntu.com: "Comments may only start at the beginning of a line"; dtapply takes them off.
    const Intent intent = config_txt("dtoverlay=gpio-poweroff # releases the supply\n");
    CHECK(overlays_of(intent) == "1 depends gpio-poweroff whether the comment is taken off\n");
    CHECK(remarks_of(intent) == "1 malformed: a comment begins a line; here it may be part of the "
                                "value: \" # releases the supply\"\n");
}

TEST_CASE("a line that is not a setting is named", "[bootfiles]") {
    CHECK(remarks_of(config_txt("dtoverlay gpio-poweroff\n")) ==
          "1 malformed: \"dtoverlay gpio-poweroff\" is not a setting: one is written as "
          "name=value\n");
    // boot.adoc, initramfs: "uses different syntax from all the other options".
    CHECK(remarks_of(config_txt("initramfs initramf.gz 0x00800000\n")).empty());
}

TEST_CASE("an overlay's file lies below overlays/, or where the prefix says", "[bootfiles]") {
    // device-tree.adoc part 3.1; boot.adoc, overlay_prefix.
    struct Case {
        const char* text;
        const char* file;
    };

    for (const Case& one : {
             Case{"dtoverlay=gpio-fan\n", "overlays/gpio-fan.dtbo"},
             Case{"dtoverlay=gpio-fan.dtbo\n", "overlays/gpio-fan.dtbo"},
             Case{"dtoverlay=gpio-fan\noverlay_prefix=mine/\n", "mine/gpio-fan.dtbo"},
             Case{"overlay_prefix=mine/x-\ndtoverlay=gpio-fan\n", "mine/x-gpio-fan.dtbo"},
             Case{"[pi5]\noverlay_prefix=mine/\n[all]\ndtoverlay=gpio-fan\n",
                  "overlays/gpio-fan.dtbo"},
             Case{"[gpio4=1]\noverlay_prefix=mine/\n[all]\ndtoverlay=gpio-fan\n", ""},
             // "If used in conjunction with os_prefix": only when a README lies there.
             Case{"os_prefix=test/\ndtoverlay=gpio-fan\n", ""},
             Case{"os_prefix=test/\nos_prefix=\ndtoverlay=gpio-fan\n", "overlays/gpio-fan.dtbo"},
             Case{"upstream_kernel=1\ndtoverlay=gpio-fan\n", ""},
             Case{"upstream_kernel=0\ndtoverlay=gpio-fan\n", "overlays/gpio-fan.dtbo"},
             // "Any user-specified OS file can bypass all prefixes by using an absolute path".
             Case{"os_prefix=test/\ndtoverlay=/mine/gpio-fan.dtbo\n", "/mine/gpio-fan.dtbo"},
         }) {
        const Intent intent = config_txt(one.text);
        INFO(one.text);
        REQUIRE(intent.overlays.size() == 1);
        CHECK(intent.overlays[0].file == one.file);
        CHECK(intent.overlays[0].name == "gpio-fan");
    }
}

TEST_CASE("a prefix that stands twice is named, and the last one holds", "[bootfiles]") {
    CHECK(remarks_of(config_txt("overlay_prefix=a/\n[pi4]\noverlay_prefix=b/\n")) ==
          "3 repeated: overlay_prefix stands again: the last one holds\n");
}

TEST_CASE("an included file stands in the place of its line", "[bootfiles]") {
    // what_is_config_txt.adoc, include.
    const Intent intent =
        config_txt("dtoverlay=gpio-led\n[pi5]\ninclude extra.txt\ndtoverlay=gpio-fan\n",
                   {"raspberrypi,4-model-b"},
                   {{"extra.txt", "#\ndtoverlay=gpio-key\n[all]\ndtparam=gpio=5\n"}});
    // The text is inserted, so its [all] ends the section that it was included in; whether the
    // section stops the include is not documented.
    REQUIRE(intent.overlays.size() == 3);
    CHECK(intent.overlays[1].place.file == "extra.txt");
    CHECK(overlays_of(intent) == "1 yes gpio-led gpio=5?\n"
                                 "2 no gpio-key [pi5] (another model)\n"
                                 "4 yes gpio-fan\n");
    CHECK(remarks_of(intent).empty());
}

TEST_CASE("an include that cannot be followed is named", "[bootfiles]") {
    CHECK(remarks_of(config_txt("include extra.txt\n")) ==
          "1 not_found: the included file \"extra.txt\" is not there\n");
    CHECK(remarks_of(config_txt("include\n")) == "1 malformed: include needs a file's name\n");
    CHECK(
        remarks_of(config_txt("include a\n", {}, {{"a", "\ninclude b\n"}, {"b", "include a\n"}})) ==
        "1 too_deep: \"a\" includes itself: not followed\n");
    CHECK(remarks_of(config_txt("include config.txt\n")) ==
          "1 too_deep: \"config.txt\" includes itself: not followed\n");
    CHECK(remarks_of(read_config_txt("config.txt", "include a\n", {}, nullptr)) ==
          "1 not_found: the included file \"a\" is not there\n");
}

TEST_CASE("eight includes deep is followed, nine is not", "[bootfiles]") {
    std::map<std::string, std::string> files;
    for (char name = 'a'; name < 'z'; ++name) {
        files[std::string(1, name)] = "include " + std::string(1, static_cast<char>(name + 1)) +
                                      "\ndtoverlay=at-" + std::string(1, name) + "\n";
    }
    const Intent intent = config_txt("include a\n", {}, files);
    CHECK(overlays_of(intent).starts_with("2 yes at-h\n2 yes at-g\n"));
    CHECK(remarks_of(intent) == "1 too_deep: \"i\": includes within includes, more than 8: not "
                                "followed\n");
}

TEST_CASE("a file may be included twice, one after the other", "[bootfiles]") {
    CHECK(overlays_of(config_txt("include a\ninclude a\n", {}, {{"a", "dtoverlay=gpio-led\n"}})) ==
          "1 yes gpio-led\n1 yes gpio-led\n");
}

TEST_CASE("on a board whose firmware is the EEPROM's an include leaves it open", "[bootfiles]") {
    // what_is_config_txt.adoc: "Include directives are not supported by ... the EEPROM bootloader".
    CHECK(overlays_of(config_txt("include a\ndtoverlay=gpio-fan\n",
                                 {"raspberrypi,5-model-b", "brcm,bcm2712"},
                                 {{"a", "dtoverlay=gpio-led\n"}})) ==
          "1 depends gpio-led whether this board follows includes\n2 yes gpio-fan\n");
}

TEST_CASE("a text too long to be a configuration is read to the limit, and says so",
          "[bootfiles]") {
    const Intent many_lines = config_txt(std::string(65'535, '\n') + "dtoverlay=a\ndtoverlay=b\n");
    CHECK(overlays_of(many_lines) == "65536 yes a\n");
    CHECK(remarks_of(many_lines) == "65537 too_long: no more lines are looked at\n");

    const Intent many_bytes =
        config_txt("dtoverlay=a\n#" + std::string(1U << 20U, 'x') + "\ndtoverlay=b\n");
    CHECK(overlays_of(many_bytes) == "1 yes a\n");
    CHECK(remarks_of(many_bytes) ==
          "1 too_long: the text is longer than 1 MiB: the rest is not looked at\n");
}

TEST_CASE("includes cannot multiply a text beyond the limit", "[bootfiles]") {
    std::map<std::string, std::string> files;
    std::string many;
    for (char name = 'b'; name < 'i'; ++name) {
        many.clear();
        for (int i = 0; i < 100; ++i) {
            many += "include " + std::string(1, name) + "\n";
        }
        files[std::string(1, static_cast<char>(name - 1))] = many;
    }
    files["h"] = "dtoverlay=x\n";
    const Intent intent = config_txt("include a\n", {}, files);
    CHECK(intent.overlays.size() <= 4'096);
    CHECK(remarks_of(intent).find("too_long") != std::string::npos);
}

TEST_CASE("more overlays than any board has are cut off, and one remark says so", "[bootfiles]") {
    std::string text;
    for (int i = 0; i < 5'000; ++i) {
        text += "dtoverlay=x\n";
    }
    const Intent intent = config_txt(text);
    CHECK(intent.overlays.size() == 4'096);
    CHECK(remarks_of(intent) == "4097 too_long: there is more in this text than is looked at; what "
                                "stands here and after it may be missing\n");
}

TEST_CASE("a NUL byte ends its line, and is named", "[bootfiles]") {
    const Intent intent =
        config_txt(std::string_view("dtoverlay=gpio-fan\0,temp=1\ndtparam=hyst=1", 41));
    CHECK(overlays_of(intent) == "1 yes gpio-fan hyst=1\n");
    CHECK(remarks_of(intent) == "1 malformed: a NUL byte; what follows it is not read\n");
}
