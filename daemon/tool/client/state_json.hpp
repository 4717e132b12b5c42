// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "daemon/tool/client/service_state.hpp"
#include "daemon/tool/json.hpp"

#include <string>

/// What programs read of the service's state: one object a line, each complete by itself. The
/// schemas, installed in share/nightlatch, are in nightlatch-follow.schema.json beside `follow` and
/// nightlatch-status.schema.json beside `status`.
namespace nightlatch::tool {

/// The members of a running service's state, "now" and "running" first.
Json state_json(const ServiceState& state, Instant now);

std::string follow_line(const ServiceState& state, Instant now);
std::string follow_line(const std::string& announced, Instant now);
std::string follow_line(Absent why, Instant now);

}  // namespace nightlatch::tool
