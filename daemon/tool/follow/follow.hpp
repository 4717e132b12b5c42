// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "core/cue.hpp"
#include "daemon/tool/options.hpp"

#include <chrono>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::tool {

struct FollowOptions {
    bool json = false;
    bool full_screen = false;
    bool once = false;
    std::optional<core::CueName> end_at;
    std::optional<std::vector<std::string>> run;  ///< a program and its arguments
    Duration limit = std::chrono::seconds(10);    ///< how long one run of it may last
};

void describe_follow(Options& options, FollowOptions& into);

/// The command as a whole. 0: ended by --once or --end-at, or by a signal where neither was asked
/// for; 1: there was no such cue, or no service; 2: the output cannot be written.
int run_follow(const FollowOptions& options);

}  // namespace nightlatch::tool
