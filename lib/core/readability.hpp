// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "core/limits.hpp"
#include "core/storm.hpp"

#include <array>
#include <cstddef>
#include <cstdint>

namespace nightlatch::core {

/// Can a line be read at all, or does it float, or is it disturbed? It cannot when
///   - neither level has settled for 10 s,
///   - the settled level has changed more than 100 times within 10 s,
///   - it has for 10 s never been without an edge for 100 ms,
///   - it brings more than 2,000 edges a second for 2 s.
/// Opened again after that it is on trial, until it has been readable for 60 s: 1 s (or four times
/// the longer debounce interval) stands for each 10 s, and 10 changes for the 100. So a line that
/// is never readable costs about a sixtieth of what its edges would. The values: limits.hpp.
class Readability {
public:
    /// The limits must outlive it.
    void set(const Limits& limits, Duration longer_interval) noexcept;

    /// The line was opened.
    void opened(Instant at) noexcept;
    /// It cannot be read. True when that is news: it was readable, and no trial.
    bool found_unreadable(Instant at) noexcept;
    /// It has vanished, readable to the last. True when for so long that what was found before is
    /// over: the next opening is not a trial.
    bool vanished(Instant at) noexcept;
    /// When a line on trial, if it is open, has been readable for long enough; never for another.
    [[nodiscard]] Instant readable_at() const noexcept;
    /// That time has come. How long it could not be read: until it was opened the last time.
    Duration readable_again() noexcept;

    /// On trial, or to be when it is opened.
    [[nodiscard]] bool suspect() const noexcept { return suspect_; }

    void reset() noexcept;

    /// `count` edges came by `stamp`; true when the line cannot be read.
    bool edges(Instant stamp, std::uint32_t count) noexcept;
    /// The settled level is another one; true when the line cannot be read.
    bool changed(Instant at) noexcept;

    /// Unsettled since `since`, the line cannot be read from here on.
    [[nodiscard]] Instant patience_ends(Instant since) const noexcept;

    /// Edges per second, of late.
    [[nodiscard]] std::uint32_t rate() const noexcept { return storm_.rate(); }

private:
    friend struct Anatomy;

    /// Has it been readable for so long, at `at`, that what was found before is over?
    [[nodiscard]] bool trusted(Instant at) const noexcept {
        return at >= opened_at_ + limits_->trial;
    }

    [[nodiscard]] bool on_trial(Instant at) const noexcept { return suspect_ && !trusted(at); }

    [[nodiscard]] Duration within(Instant at, Duration usual) const noexcept;

    const Limits* limits_ = &published_limits;
    Duration trial_patience_ = published_limits.trial_patience;
    Storm storm_;
    bool suspect_ = false;     ///< found unreadable when it was open last
    Instant suspect_since_{};  ///< only told
    Instant opened_at_{};
    Instant busy_since_{};
    Instant last_edge_ = Instant::min();              ///< none yet
    std::array<Instant, limits::changes> changes_{};  ///< of the settled level; a ring
    std::size_t next_change_ = 0;
    std::size_t known_changes_ = 0;
};

}  // namespace nightlatch::core
