// SPDX-License-Identifier: MIT
// Which parameter belongs to which overlay [raspberrypi/documentation,
// configuration/device-tree.adoc, part 3.2, DT parameters].
#include "intents.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::bootfiles;
using test::config_txt;
using test::overlays_of;
using test::remarks_of;

namespace {

struct Case {
    const char* rule;
    const char* text;
    const char* overlays;
};

void check(std::initializer_list<Case> cases) {
    for (const Case& one : cases) {
        INFO(one.rule << "\n" << one.text);
        CHECK(overlays_of(config_txt(one.text)) == one.overlays);
    }
}

}  // namespace

TEST_CASE("parameters stand after the overlay's name, or on lines of their own", "[bootfiles]") {
    check({
        {"appended to the overlay line",
         "dtoverlay=lirc-rpi,gpio_out_pin=16,gpio_in_pin=17,gpio_in_pull=down\n",
         "1 yes lirc-rpi gpio_out_pin=16 gpio_in_pin=17 gpio_in_pull=down\n"},
        {"specified on subsequent lines",
         "dtoverlay=lirc-rpi\ndtparam=gpio_out_pin=16\ndtparam=gpio_in_pin=17\n",
         "1 yes lirc-rpi gpio_out_pin=16 gpio_in_pin=17\n"},
        {"several on one dtparam line",
         "dtoverlay=lirc-rpi\ndtparam=gpio_out_pin=16,gpio_in_pin=17\n",
         "1 yes lirc-rpi gpio_out_pin=16 gpio_in_pin=17\n"},
        {"a bare name is \"on\"", "dtoverlay=x,input\n", "1 yes x input\n"},
        {"a colon after the name [firmware issue 405]",
         "dtoverlay=lirc-rpi:gpio_out_pin=16,gpio_in_pin=17\n",
         "1 yes lirc-rpi gpio_out_pin=16 gpio_in_pin=17\n"},
        {"only the first colon divides", "dtoverlay=x,a=b:c\n", "1 yes x a=b:c\n"},
        {"a value may have another equals sign", "dtoverlay=x,a=b=c\n", "1 yes x a=b=c\n"},
        {"nothing between commas", "dtoverlay=x,,a=1,\n", "1 yes x a=1\n"},
    });
}

TEST_CASE("an overlay's parameters end with the next overlay", "[bootfiles]") {
    check({
        {"only in scope until the next overlay is loaded",
         "dtoverlay=a\ndtparam=p=1\ndtoverlay=b\ndtparam=p=2\n",
         "1 yes a p=1\n3 yes b p=2\n"},
        {"before every overlay they are the base tree's",
         "dtparam=i2c_arm=on\ndtoverlay=a\n",
         "2 yes a\n"},
        {"dtoverlay= ends the scope", "dtoverlay=a\ndtoverlay=\ndtparam=p=1\n", "1 yes a\n"},
        {"dtoverlay=none does too [raspberrypi/utils dtapply]",
         "dtoverlay=a\ndtoverlay=none\ndtparam=p=1\n",
         "1 yes a\n"},
        {"the same overlay may be loaded twice",
         "dtoverlay=gpio-led,gpio=5\ndtoverlay=gpio-led,gpio=6\n",
         "1 yes gpio-led gpio=5\n2 yes gpio-led gpio=6\n"},
        {"the last value stands last", "dtoverlay=a,p=1\ndtparam=p=2\n", "1 yes a p=1 p=2\n"},
    });
}

TEST_CASE("sections decide for each line by itself", "[bootfiles]") {
    check({
        {"another model's overlay takes no parameters of ours",
         "dtoverlay=a\n[pi5]\ndtoverlay=b\n[all]\ndtparam=p=1\n",
         "1 yes a p=1\n3 no b [pi5] (another model)\n"},
        {"but it keeps those that stand beside it",
         "dtoverlay=a\n[pi5]\ndtoverlay=b\ndtparam=p=1\n",
         "1 yes a\n3 no b p=1 [pi5] (another model)\n"},
        {"another model's parameter is nobody's", "dtoverlay=a\n[pi5]\ndtparam=p=1\n", "1 yes a\n"},
        {"a parameter may depend where its overlay does not",
         "dtoverlay=a\n[gpio4=1]\ndtparam=p=1\n[all]\ndtparam=q=2\n",
         "1 yes a p=1? q=2\n"},
        {"in one section they stand or fall together",
         "[gpio4=1]\ndtoverlay=a\ndtparam=p=1\n",
         "2 depends a p=1 [gpio4=1] (the level at boot)\n"},
        {"an end of the scope that depends leaves it open",
         "dtoverlay=a\n[gpio4=1]\ndtoverlay=\n[all]\ndtparam=p=1\n",
         "1 yes a p=1?\n"},
        {"until the next overlay",
         "dtoverlay=a\n[gpio4=1]\ndtoverlay=\n[all]\ndtoverlay=b\ndtparam=p=1\n",
         "1 yes a\n5 yes b p=1\n"},
        {"an end for another model ends nothing",
         "dtoverlay=a\n[pi5]\ndtoverlay=\n[all]\ndtparam=p=1\n",
         "1 yes a p=1\n"},
    });
}

TEST_CASE("a parameter that depends says on what", "[bootfiles]") {
    const Intent intent = config_txt("dtoverlay=a\n[gpio4=1]\ndtparam=p=1\n");
    REQUIRE(intent.overlays.size() == 1);
    REQUIRE(intent.overlays[0].parameters.size() == 1);
    const Parameter& one = intent.overlays[0].parameters[0];
    CHECK(one.certainty == Certainty::depends);
    CHECK(one.condition == "[gpio4=1] (the level at boot)");
    CHECK(one.place.line == 3);
    CHECK(one.place.file == "config.txt");
}

TEST_CASE("a parameter before its overlay is named", "[bootfiles]") {
    CHECK(remarks_of(config_txt("dtparam=gpiopin=6\ndtoverlay=gpio-poweroff\n")) ==
          "1 unknown_parameter: \"gpiopin\" is a parameter of an overlay, and no dtoverlay line is "
          "in force here: the firmware silently ignores it\n");
    CHECK(remarks_of(config_txt("dtparam=audio=on\n")).empty());
}

TEST_CASE("parameters without an overlay's name are named", "[bootfiles]") {
    CHECK(remarks_of(config_txt("dtoverlay=,gpiopin=6\n")) ==
          "1 malformed: dtoverlay: no overlay is named\n");
}
