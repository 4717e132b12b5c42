// SPDX-License-Identifier: MIT
#pragma once

#include "audit/rule.hpp"

/// Judge functions of the group `system`, whose rules stand in system_rules.cpp.
namespace nightlatch::audit {

Judgement judge_watchdog_at_off(const Scene& scene);
Judgement judge_hung_system(const Scene& scene);
Judgement judge_forced_power_off(const Scene& scene);

// system_rules_kernel.cpp
Judgement judge_kernel_newest(const Scene& scene);
Judgement judge_kernel_arguments(const Scene& scene);
Judgement judge_halt_stays_on(const Scene& scene);

}  // namespace nightlatch::audit
