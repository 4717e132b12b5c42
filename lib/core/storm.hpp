// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

#include <cstdint>
#include <string>

namespace nightlatch::core {

/// Counts edges by the second: more than limits::storm_edges in each of limits::storm_seconds whole
/// seconds, one after the other, is a floating line. Counters only, no history: cheap enough for
/// every edge.
class Storm {
public:
    /// `edges` edges came by `stamp`; true when the line floats.
    bool count(Instant stamp, std::uint32_t edges) noexcept;

    /// Edges per second: of the last whole second, or of the one under way if there is none.
    [[nodiscard]] std::uint32_t rate() const noexcept;

    void reset() noexcept { *this = Storm{}; }

private:
    Instant second_begin_{};
    std::uint64_t edges_ = 0;
    std::uint64_t last_second_ = 0;
    bool counting_ = false;
    int hot_seconds_ = 0;  ///< whole seconds in a row over the limit
};

/// "more than 2,000 edges a second for 2 s", for people.
std::string storm_text();

}  // namespace nightlatch::core
