// SPDX-License-Identifier: MIT
#include "audit/cues.hpp"

#include <array>

namespace nightlatch::audit {
namespace {

constexpr std::array<std::string_view, 1> led{"led-there"};

constexpr std::array rules{
    Rule{"led-there",
         Group::cues,
         "Each configured LED is there",
         "A cue on an LED that the kernel does not have is a cue that nobody sees.",
         {},
         cues::led_is_there},
    Rule{"led-writable",
         Group::cues,
         "The service may write to each configured LED",
         "The files of an LED belong to root unless a udev rule gives them away.",
         led,
         cues::led_is_writable},
    Rule{"led-retain",
         Group::cues,
         "A configured LED stays as it is at the end of a shutdown",
         "An LED goes on after the service's end until the kernel shuts its devices down and "
         "switches it off, unless its node has retain-state-shutdown [linux "
         "Documentation/devicetree/bindings/leds/leds-gpio.yaml].",
         {},
         cues::led_stays_at_shutdown},
    Rule{"cue-line",
         Group::cues,
         "Each configured feedback line is there and free",
         "A line has one holder, and a buzzer on the button's, an alarm's or the post-halt line "
         "would press, alarm or release.",
         {},
         cues::cue_line_is_free},
};

}  // namespace

std::span<const Rule> cue_rules() {
    return rules;
}

}  // namespace nightlatch::audit
