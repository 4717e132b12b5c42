// SPDX-License-Identifier: MIT
// Names that the firmware silently passes over [raspberrypi/linux,
// arch/arm/boot/dts/overlays/README; raspberrypi/documentation, configuration/device-tree.adoc,
// Debugging].
#include "intents.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::bootfiles;
using test::config_txt;
using test::remarks_of;

TEST_CASE("an overlay has the parameters that its README gives it", "[bootfiles]") {
    for (const char* const line : {
             "dtoverlay=gpio-poweroff,gpiopin=6,active_low,input,export,active_delay_ms=200",
             "dtoverlay=gpio-poweroff,timeout_ms=1",
             "dtoverlay=gpio-poweroff,inactive_delay_ms=100",
             "dtoverlay=gpio-shutdown,gpio_pin=3,active_low=1,gpio_pull=up,debounce=100",
             "dtoverlay=gpio-key,gpio=3,active_low=1,gpio_pull=up,label=x,keycode=116",
             "dtoverlay=gpio-led,gpio=19,label=x,trigger=none,active_low",
             "dtoverlay=gpio-hog,gpio=26,active_low",
             "dtoverlay=gpio-fan,gpiopin=12,temp=55000,hyst=10000",
         }) {
        INFO(line);
        CHECK(remarks_of(config_txt(line)).empty());
    }
}

TEST_CASE("a parameter that the overlay has not is named, with the nearest", "[bootfiles]") {
    struct Case {
        const char* line;
        const char* nearest;
    };

    for (const Case& one : {
             // raspberrypi/firmware, issue 1661, and the three spellings of one thing.
             Case{"dtoverlay=gpio-poweroff,gpio_pin=6", "gpiopin"},
             Case{"dtoverlay=gpio-poweroff,gpio-pin=6", "gpiopin"},
             Case{"dtoverlay=gpio-poweroff,gpio=6", "gpiopin"},
             Case{"dtoverlay=gpio-poweroff,active_delay=200", "active_delay_ms"},
             Case{"dtoverlay=gpio-poweroff,active-low", "active_low"},
             Case{"dtoverlay=gpio-shutdown,gpiopin=5", "gpio_pin"},
             Case{"dtoverlay=gpio-key,gpiopin=5", "gpio"},
             Case{"dtoverlay=gpio-key,key_code=5", "keycode"},
             Case{"dtoverlay=gpio-fan,gpio_pin=5", "gpiopin"},
         }) {
        const Intent intent = config_txt(one.line);
        REQUIRE(intent.remarks.size() == 1);
        const Remark& remark = intent.remarks[0];
        INFO(one.line);
        CHECK(remark.kind == RemarkKind::unknown_parameter);
        CHECK(remark.text.find("and the firmware silently ignores it; the nearest is \"" +
                               std::string(one.nearest) + "\"") != std::string::npos);
        // What stands there stays there: the audit compares it with the tree.
        CHECK(intent.overlays.at(0).parameters.size() == 1);
    }
    CHECK(remarks_of(config_txt("dtoverlay=gpio-hog\n\ndtparam=zzz\n")) ==
          "3 unknown_parameter: the overlay gpio-hog has no parameter \"zzz\", and the firmware "
          "silently ignores it\n");
}

TEST_CASE("other overlays' parameters are not judged", "[bootfiles]") {
    CHECK(remarks_of(config_txt("dtoverlay=w1-gpio,gpiopinn=4\n")).empty());
}

TEST_CASE("quotes in a value are named", "[bootfiles]") {
    CHECK(remarks_of(config_txt("dtoverlay=gpio-led,label=\"mast\"\n")) ==
          "1 malformed: quotes are part of the value \"\"mast\"\" of \"label\": leave them out\n");
}

TEST_CASE("an overlay's name one slip from the one that matters is named", "[bootfiles]") {
    CHECK(remarks_of(config_txt("dtoverlay=gpio_poweroff,gpiopin=6\n")) ==
          "1 unknown_overlay: the firmware comes with no overlay \"gpio_poweroff\", and silently "
          "skips one that is not there; the nearest is \"gpio-poweroff\"\n");
    for (const char* const name : {"gpio-powerof",
                                   "GPIO-poweroff",
                                   "poweroff",
                                   "gpio-power-off",
                                   "gpio-shutdwon",
                                   "shutdown"}) {
        INFO(name);
        CHECK(remarks_of(config_txt("dtoverlay=" + std::string(name))).find("unknown_overlay") !=
              std::string::npos);
    }
    for (const char* const name : {"gpio-poweroff",
                                   "gpio-shutdown",
                                   "gpio-key",
                                   "gpio-ir-tx",
                                   "gpio-charger",
                                   "w1-gpio",
                                   "disable-bt",
                                   "i2c-rtc",
                                   "vc4-kms-v3d",
                                   "my-board"}) {
        INFO(name);
        CHECK(remarks_of(config_txt("dtoverlay=" + std::string(name))).empty());
    }
}

TEST_CASE("a slip in dtoverlay or dtparam themselves is named", "[bootfiles]") {
    CHECK(
        remarks_of(config_txt("dtoverlays=gpio-poweroff\ndtparm=gpiopin=6\n")) ==
        "1 malformed: the firmware knows no setting \"dtoverlays\" and ignores it; the nearest is "
        "\"dtoverlay\"\n"
        "2 malformed: the firmware knows no setting \"dtparm\" and ignores it; the nearest is "
        "\"dtparam\"\n");
    // Settings of the stock file.
    CHECK(remarks_of(config_txt("disable_splash=1\narm_64bit=1\nenable_uart=1\ndtdebug=1\n"
                                "display_auto_detect=1\notg_mode=1\ndevice_tree_address=0x100\n"))
              .empty());
}
