// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

#include <functional>
#include <optional>

namespace nightlatch::tool {

/// Does it in a process of its own and waits for that no longer than `most`: a card can hold a
/// write for as long as it likes, and who waits in the kernel for it cannot be ended. Returns what
/// `work` returned, 0 to 255; nothing when it was not done in time, or died. That process is told
/// to end then, and not waited for.
std::optional<int> done_within(Duration most, const std::function<int()>& work);

}  // namespace nightlatch::tool
