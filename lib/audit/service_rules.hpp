// SPDX-License-Identifier: MIT
#pragma once

#include "audit/rule.hpp"

/// Judge functions of the group `service`, whose rules stand in service_rules.cpp.
namespace nightlatch::audit {

Judgement judge_inhibitors(const Scene& scene);
Judgement judge_delay_limit(const Scene& scene);
Judgement judge_stop_timeouts(const Scene& scene);

}  // namespace nightlatch::audit
