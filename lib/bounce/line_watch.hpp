// SPDX-License-Identifier: MIT
#pragma once

#include "core/debounce.hpp"

#include <span>

namespace nightlatch::bounce {

/// One line while somebody presses a button to find out which line it is on and at which level it
/// rests. Levels are electrical here: active means high.
///
/// The rest level is the one at which the line has been settled for longer since the watch began;
/// of equal times, the level at the start. So it comes out right as well when the button was
/// already held at the start, once the line has been let go for longer than it was held. A whole
/// press has been seen when the line has settled at least twice and is back, settled, at its rest
/// level.
///
///   start   ______----______      rest low, whole at the third step
///   held    --______----____      rest high until the low has lasted longer; whole at the end
class LineWatch {
public:
    static constexpr Duration interval = std::chrono::milliseconds(30);    ///< to settle, each way
    static constexpr Duration longest_settling = std::chrono::seconds(1);  ///< then it is unsteady

    LineWatch(Instant start, Level level) noexcept;

    /// A stamp before the start counts as the start.
    void sample(const core::Sample& sample) noexcept;

    /// So many edges were dropped before the next sample.
    void lost(std::size_t edges) noexcept { lost_ += edges; }

    /// When advance() has something to do; never while nothing is under way.
    [[nodiscard]] Instant deadline() const noexcept;
    void advance(Instant now) noexcept;

    [[nodiscard]] std::size_t edges() const noexcept { return edges_; }

    /// How many were dropped before they could be read; they are not among edges().
    [[nodiscard]] std::size_t lost() const noexcept { return lost_; }

    /// How often it has settled at the other level.
    [[nodiscard]] std::size_t changes() const noexcept { return changes_; }

    /// It would not settle for a second and more, at least once.
    [[nodiscard]] bool unsteady() const noexcept { return unsteady_; }

    /// As of the last advance(), sample or start, whichever was latest.
    [[nodiscard]] Level rest() const noexcept;
    [[nodiscard]] bool whole_press() const noexcept;

    [[nodiscard]] bool settling() const noexcept { return debounce_.in_episode(); }

    /// The level that was seen last.
    [[nodiscard]] Level raw() const noexcept { return debounce_.raw().value_or(settled_); }

    /// When it first settled at the other level; never while it has not.
    [[nodiscard]] Instant first_change() const noexcept { return first_change_; }

private:
    [[nodiscard]] Duration time_at(Level level) const noexcept;
    void settle(Instant at, Level level) noexcept;

    core::Debounce debounce_;
    Level start_;
    Level settled_;
    Instant since_;       ///< settled at that level
    Instant now_;         ///< the latest instant heard of
    Duration at_high_{};  ///< before since_
    Duration at_low_{};
    std::size_t edges_ = 0;
    std::size_t lost_ = 0;
    std::size_t changes_ = 0;
    bool unsteady_ = false;
    Instant first_change_ = never;
};

/// The earliest deadline of all.
Instant next_deadline(std::span<const LineWatch> lines) noexcept;

/// One line has seen a whole press, and none is just settling: what moves together has then moved.
bool finished(std::span<const LineWatch> lines) noexcept;

}  // namespace nightlatch::bounce
