// SPDX-License-Identifier: MIT
#pragma once

#include "core/input.hpp"
#include "core/settings.hpp"

#include <cstdint>
#include <vector>

namespace nightlatch::model {

/// Everything that one line showed: read as `level` at `start` (a Resync), then the samples in the
/// order of their stamps (equal stamps and equal levels are legal), watched until `end`. What comes
/// while the line is let go, because it cannot be read, is lost.
struct Line {
    Instant start;
    Level level = Level::inactive;
    std::vector<core::Sample> samples;
    Instant end;
};

/// What becomes of a request. `silence`: never answered, so it is the last one.
/// `refused`: the moment it leaves, so the next press counts again.
enum class Reply : unsigned char { silence, refused };

struct Request {
    Instant leaves;  ///< the instant whose advance() must give it
    std::uint32_t stage = 0;
    Duration held{};

    bool operator==(const Request&) const = default;
};

/// The line was found to be one that cannot be read, and let go.
struct Unreadable {
    Instant at;
    bool news = false;  ///< else told before, and not readable for long enough since

    bool operator==(const Unreadable&) const = default;
};

/// All in ascending order. The instants are those at which the line decided.
struct Expected {
    std::vector<Request> requests;  ///< also those that only publish
    std::vector<Instant> near_misses;
    std::vector<Instant> call_offs;  ///< of countdowns, whatever voided them
    std::vector<Instant> stuck;
    std::vector<Unreadable> unreadable;
};

/// A second opinion on what the specification says a line must lead to. It looks at the whole list
/// at once, as stretches between samples, and holds no state that moves with time: so that where it
/// agrees with the core, two different readings agree. That proves nothing where both read alike:
/// an earlier one shared a mistake with the core. It took a press for ended only where the line had
/// read released for the release interval at a stretch, drop-outs were not added up over the press,
/// and quick taps made a hold. The storm (edges a second) is not in it, nor is 2 min of silence.
Expected expect(const core::Settings& settings, const Line& line, Reply reply);

}  // namespace nightlatch::model
