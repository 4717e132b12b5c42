// SPDX-License-Identifier: MIT
#pragma once

#include "core/input.hpp"
#include "core/storm.hpp"

#include <algorithm>
#include <array>
#include <optional>

namespace nightlatch::bounce {

using namespace std::chrono_literals;

/// All edges from the first one away from a level that was quiet to the last one before it is quiet
/// again. A pause is the time between two successive edges of it; of each level the longest counts,
/// because that is what the level's debounce interval has to outlast.
struct BounceEpisode {
    Instant begin;  ///< its first edge
    Instant last;   ///< its last edge
    Level from = Level::inactive;
    Level to = Level::inactive;  ///< equal to `from`: a tap within the quiet time, or a disturbance
    std::size_t edges = 0;       ///< an event of an equal level stands for two, merged
    Duration longest_closed{};   ///< the longest pause at the pressed level
    Duration longest_open{};     ///< the longest pause at the released level

    [[nodiscard]] Duration length() const noexcept { return last - begin; }

    [[nodiscard]] Duration longest_pause() const noexcept {
        return std::max(longest_closed, longest_open);
    }

    bool operator==(const BounceEpisode&) const = default;
};

/// Of all episodes of one kind. Lengths in buckets: none (a single edge), up to each of the bounds,
/// and longer than the last.
struct BounceTally {
    static constexpr std::array<Duration, 12> bounds{
        50us, 100us, 200us, 500us, 1ms, 2ms, 5ms, 10ms, 20ms, 50ms, 100ms, 200ms};

    std::size_t times = 0;
    std::size_t clean = 0;  ///< a single edge
    std::size_t edges = 0;
    std::size_t most_edges = 0;
    Duration lengths{};  ///< their sum
    Duration longest{};
    Duration longest_closed{};
    Duration longest_open{};
    std::array<std::size_t, bounds.size() + 2> buckets{};

    void add(const BounceEpisode& episode) noexcept;

    [[nodiscard]] Duration mean() const noexcept;

    [[nodiscard]] Duration longest_pause() const noexcept {
        return std::max(longest_closed, longest_open);
    }
};

struct BounceReport {
    BounceTally press;
    BounceTally release;
    BounceTally back;        ///< came back to the level it had: taps within the quiet time
    std::size_t merged = 0;  ///< events that stand for two edges the kernel could not tell apart
    std::size_t lost = 0;    ///< edges that were dropped before they were read
    bool storm = false;      ///< the line floats (core::Storm)
    /// The recording ended so soon after the last edge of a press or release that was counted.
    std::optional<Duration> cut_short;

    /// A press and its release.
    [[nodiscard]] std::size_t whole() const noexcept {
        return std::min(press.times, release.times);
    }
};

/// Measures how one button's contacts bounce. Active means pressed. Storage is fixed: no edge
/// allocates. Time passes by sample() and advance() alone.
class BounceMeasure {
public:
    /// `quiet`: an episode is over when the level has been the same for so long, > 0.
    BounceMeasure(Instant start, Level level, Duration quiet) noexcept;

    /// Gives the episode that was over before this edge came. A stamp before the last one counts as
    /// that one.
    std::optional<BounceEpisode> sample(const core::Sample& sample) noexcept;

    /// Gives the episode that is over now.
    std::optional<BounceEpisode> advance(Instant now) noexcept;

    /// When advance() has an episode to give; never while nothing is under way.
    [[nodiscard]] Instant deadline() const noexcept;

    /// The recording ends: an episode under way is counted as it is, and said to be cut short.
    std::optional<BounceEpisode> finish(Instant end) noexcept;

    /// The line was read as `level`, and no edge explains it: what was under way is not counted.
    void resync(Instant at, Level level) noexcept;

    /// So many edges were dropped before the next sample.
    void lost(std::size_t edges) noexcept { report_.lost += edges; }

    /// The level that was seen last.
    [[nodiscard]] Level raw() const noexcept { return raw_; }

    /// Since when an episode is under way.
    [[nodiscard]] std::optional<Instant> under_way() const noexcept;

    [[nodiscard]] const BounceReport& report() const noexcept { return report_; }

private:
    BounceEpisode end_episode() noexcept;

    Duration quiet_;
    Level raw_;
    Instant last_;  ///< of the last sample, or the start
    std::optional<BounceEpisode> episode_;
    core::Storm storm_;
    BounceReport report_;
};

}  // namespace nightlatch::bounce
