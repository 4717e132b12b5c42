// SPDX-License-Identifier: MIT
#pragma once

#include "audit/rule.hpp"

/// What the rules about lamps and buzzers do; their words stand in cue_rules.cpp.
namespace nightlatch::audit::cues {

Judgement led_is_there(const Scene& scene);
Judgement led_is_writable(const Scene& scene);
Judgement led_stays_at_shutdown(const Scene& scene);
Judgement cue_line_is_free(const Scene& scene);

}  // namespace nightlatch::audit::cues
