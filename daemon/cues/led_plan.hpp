// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "core/pattern.hpp"

#include <string>
#include <string_view>
#include <vector>

/// Which file of an LED gets which text: values in, values out, no file touched.
///
/// The kernel's timer trigger is set once and then steered by delay_on and delay_off, in
/// milliseconds: setting a trigger removes those two files and makes them anew, owned by root
/// [linux drivers/leds/led-triggers.c, led_trigger_set]. One of the two is 0 for a steady LED: no
/// delay_on is "never on", no delay_off "never off" [led-core.c, led_set_software_blink]. Both 0
/// would be taken for "whatever you like", 500 ms each [led_blink_setup]. Writing brightness 0
/// would remove the trigger [led-class.c, brightness_store], so brightness is for LEDs without it.
namespace nightlatch::cues {

/// Who changes the LED's level while a cue is shown.
enum class Drive : unsigned char {
    kernel,  ///< the timer trigger: no wake-up of ours
    hand,    ///< us, by brightness: the kernel does not have that trigger
};

struct FileText {
    std::string_view file;  ///< in the LED's directory
    std::string text;

    bool operator==(const FileText&) const = default;
};

struct LedPlan {
    std::vector<FileText> writes;  ///< in this order
    Instant until = never;         ///< when to plan again
};

/// How an LED is driven.
struct LedWay {
    Drive drive = Drive::hand;
    unsigned long lit = 1;  ///< the brightness that means on: max_brightness, 1 or more
};

/// What a pattern shown since `since` asks for at `now`.
LedPlan plan_of(const LedWay& way, const core::Pattern& pattern, Instant since, Instant now);

/// The two delays in an order in which they are never both 0, whatever they were before (not both
/// 0). The two given must not both be 0.
std::vector<FileText> delay_writes(unsigned long on_ms, unsigned long off_ms);

/// What an LED was like when we first came to it.
struct LedFound {
    std::string trigger;  ///< its name, "none", or empty where the kernel has no triggers at all
    bool timer_offered = false;
    unsigned long brightness = 0;
    unsigned long delay_on = 0;  ///< of the timer trigger, if that was set
    unsigned long delay_off = 0;
};

/// Reads the trigger file: "none [timer] heartbeat" offers three and has timer set.
void read_triggers(std::string_view text, LedFound& found);

/// The writes that give back what was found.
std::vector<FileText> restoring(const LedFound& found, Drive drive);

}  // namespace nightlatch::cues
