// SPDX-License-Identifier: MIT
#pragma once

#include "audit/rule.hpp"

/// What the rules about the button's line do; their words stand in button_rules.cpp.
namespace nightlatch::audit::button {

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
Judgement no_power_key(const Scene& scene);

}  // namespace nightlatch::audit::button
