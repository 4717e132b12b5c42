// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

#include <cstdint>

namespace nightlatch::core {

/// Counts edges by the second: more than 2,000 in each of two successive seconds is a floating line.
/// Two counters, no history: cheap enough for every edge.
class Storm {
public:
    /// `edges` edges came by `stamp`; true when the line floats.
    bool count(Instant stamp, std::uint32_t edges) noexcept;

    void reset() noexcept { *this = Storm{}; }

private:
    Instant second_begin_{};
    std::uint64_t edges_ = 0;
    bool counting_ = false;
    bool hot_ = false;  ///< the second before was over the limit
};

}  // namespace nightlatch::core
