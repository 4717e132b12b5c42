// SPDX-License-Identifier: MIT
#pragma once

#include "audit/rule.hpp"

/// What the rules about the button's line and the alarms' lines do; their words stand in
/// button_rules.cpp.
namespace nightlatch::audit::button {

/// `what` as a sentence begins with it: "The button's line".
std::string opening(const InputLine& input);

/// "the button's line", "the button's line or an alarm's": those that a rule has looked at.
std::string input_lines(const Scene& scene);

// button_line.cpp: the line and who else names it
Judgement names_are_unambiguous(const Scene& scene);
Judgement line_is_there(const Scene& scene);
Judgement is_not_the_post_halt_line(const Scene& scene);
Judgement is_no_key(const Scene& scene);
Judgement is_no_led(const Scene& scene);
Judgement nobody_else_claims_it(const Scene& scene);
Judgement is_free(const Scene& scene);
Judgement chips_are_named_by_label(const Scene& scene);

// button_pin.cpp: the pin behind it
Judgement has_no_other_function(const Scene& scene);
Judgement chip_does_not_sleep(const Scene& scene);
Judgement rests_released(const Scene& scene);
Judgement bias_stays_without_us(const Scene& scene);

// button_power_keys.cpp: other power keys, and who listens
Judgement no_power_key(const Scene& scene);
Judgement listeners_are_known(const Scene& scene);

// alarm_line.cpp: of the alarms' lines only
Judgement alarm_lines_are_there(const Scene& scene);
Judgement no_alarm_is_there_now(const Scene& scene);

}  // namespace nightlatch::audit::button
