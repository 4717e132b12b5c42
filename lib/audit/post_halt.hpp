// SPDX-License-Identifier: MIT
#pragma once

#include "audit/rule.hpp"

/// What the rules about the post-halt line do; their words stand in post_halt_rules.cpp. The level
/// sequence that they go by [linux drivers/power/reset/gpio-poweroff.c]: active for
/// active-delay-ms, inactive for inactive-delay-ms, then active for good; a warning on the console
/// after timeout-ms more.
namespace nightlatch::audit::post_halt {

// post_halt_node.cpp: the node
Judgement node_is_there(const Scene& scene);
Judgement node_is_enabled(const Scene& scene);
Judgement node_is_single(const Scene& scene);
Judgement line_is_right(const Scene& scene);
Judgement polarity_is_right(const Scene& scene);
Judgement priority_is_taken(const Scene& scene);

// post_halt_pad.cpp: the line's pad and its drive
Judgement pad_is_gpio(const Scene& scene);
Judgement is_driven_both_ways(const Scene& scene);

// post_halt_timing.cpp: the levels over time
Judgement pulse_is_long_enough(const Scene& scene);
Judgement final_level_lasts(const Scene& scene);
Judgement is_driven_from_the_start(const Scene& scene);
Judgement rests_inactive_from_power_on(const Scene& scene);

// post_halt_first.cpp: the driver's rivals
Judgement acts_first(const Scene& scene);

// post_halt_driver.cpp: the driver
Judgement driver_is_built_in(const Scene& scene);
Judgement driver_is_bound(const Scene& scene);
Judgement chip_does_not_sleep(const Scene& scene);
Judgement nobody_else_claims_it(const Scene& scene);

}  // namespace nightlatch::audit::post_halt
