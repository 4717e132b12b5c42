// SPDX-License-Identifier: MIT
#include "bootfiles/overlay_line.hpp"
#include "intents.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::bootfiles;

TEST_CASE("the line for a post-halt node leaves out what the overlay does by itself",
          "[bootfiles]") {
    // Defaults: [raspberrypi/linux, arch/arm/boot/dts/overlays/README, gpio-poweroff].
    CHECK(post_halt_config_line({6, false, {}}) == "dtoverlay=gpio-poweroff,gpiopin=6");
    CHECK(post_halt_config_line({26, false, 100}) == "dtoverlay=gpio-poweroff,gpiopin=26");
    CHECK(post_halt_config_line({6, true, 99}) == "dtoverlay=gpio-poweroff,gpiopin=6,active_low=1");
    CHECK(post_halt_config_line({6, false, 101}) ==
          "dtoverlay=gpio-poweroff,gpiopin=6,active_delay_ms=101");
    CHECK(post_halt_config_line({53, true, 4'294'967'295}) ==
          "dtoverlay=gpio-poweroff,gpiopin=53,active_low=1,active_delay_ms=4294967295");
}

TEST_CASE("the line for a post-halt node is one that we read without a remark", "[bootfiles]") {
    for (const PostHaltWanted& wanted :
         {PostHaltWanted{6, false, {}}, PostHaltWanted{4'294'967'295, true, 4'294'967'295}}) {
        const Intent intent = test::config_txt(post_halt_config_line(wanted));
        CHECK(test::remarks_of(intent).empty());
        REQUIRE(intent.overlays.size() == 1);
        CHECK(intent.overlays[0].name == "gpio-poweroff");
        CHECK(intent.overlays[0].parameters.at(0).value == std::to_string(wanted.offset));
    }
}
