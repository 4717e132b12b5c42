// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/options.hpp"

#include <string>
#include <string_view>

namespace nightlatch::tool {

struct CallOffOptions {};

/// What an error of the call means to a person, with what to do; by the error's name, and its own
/// text where we have no better. Safe text.
std::string call_off_refusal(std::string_view error, std::string_view text);

void describe_call_off(Options& options, CallOffOptions& into);

/// The command as a whole. 0: called off; 1: it was not, and why.
int run_call_off(const CallOffOptions& options);

}  // namespace nightlatch::tool
