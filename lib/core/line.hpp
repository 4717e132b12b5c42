// SPDX-License-Identifier: MIT
#pragma once

#include "core/debounce.hpp"
#include "core/input.hpp"
#include "core/readability.hpp"
#include "core/settings.hpp"

#include <optional>

namespace nightlatch::core {

/// What an edge is good for.
enum class EdgeIs : unsigned char {
    good,
    unwanted,      ///< the line is not open
    out_of_order,  ///< older than the one before it
    overtaken,     ///< older than what has settled: the line had not settled after all
    unexplained,   ///< too young to be the one that a contradicting read saw: that one is lost
};

/// What a read of the level says.
enum class ReadSays : unsigned char {
    nothing,      ///< the line is not open, or the same is known
    contradicts,  ///< the level is not what the edges say: from here nothing of the line is due
    lost_edges,   ///< it came back, and no edge told of it
};

/// One line, the button's or an alarm's: what settles there and when, whether it is open, whether
/// it can be read, and when it is to be tried again. Whoever has one acts on what it says.
class Line {
public:
    /// The settings' limits must outlive it.
    void set(const Settings& settings) noexcept;

    // What comes in.
    [[nodiscard]] EdgeIs judge(const Sample& sample) const noexcept;

    /// It may be the one that a read was missing; the timers run to it before sample().
    void expect() noexcept { contradiction_ = never; }

    /// True when the line cannot be read any more.
    bool sample(const Sample& sample) noexcept;

    void opened(const LineOpened& opened) noexcept;
    /// True when the line cannot be read any more.
    bool resync(const Resync& resync) noexcept;
    ReadSays read(const LevelRead& read) noexcept;

    /// Nothing is known until a Resync.
    void lose_track() noexcept;
    /// Not open any more; to be tried again after the back-off.
    void gone(Instant at) noexcept;
    /// The same, for it cannot be read. True when that is news.
    bool unreadable(Instant at) noexcept;
    /// Something changed among the chips.
    void may_be_back(Instant at) noexcept;
    /// The time to try again has come.
    void retry() noexcept;

    // What is due.
    [[nodiscard]] Instant settles_at() const noexcept { return debounce_.deadline(); }

    [[nodiscard]] Instant unreadable_at() const noexcept {
        return readability_.patience_ends(debounce_.unsettled_since());
    }

    /// Once it could not be read, and can be again: so is said.
    [[nodiscard]] Instant readable_at() const noexcept;

    /// That time has come. How long it could not be.
    Duration readable_again() noexcept { return readability_.readable_again(); }

    [[nodiscard]] Instant retry_at() const noexcept { return retry_at_; }

    /// What settles now; the line may not be readable any more (see changed_too_often()).
    Settled settle() noexcept;

    [[nodiscard]] bool changed_too_often() const noexcept { return too_often_; }

    // What is known.
    [[nodiscard]] const Debounce& debounce() const noexcept { return debounce_; }

    [[nodiscard]] bool is_open() const noexcept { return life_ == Life::open; }

    [[nodiscard]] bool closed() const noexcept { return life_ == Life::gone; }

    /// Found unreadable, and not readable for long enough since.
    [[nodiscard]] bool suspect() const noexcept { return readability_.suspect(); }

    [[nodiscard]] bool sleeps() const noexcept { return sleeps_; }

    /// When it was last settled: nothing of it is due before.
    [[nodiscard]] Instant settled_at() const noexcept { return settled_at_; }

    /// Since when a read contradicts, or has failed; never while none does.
    [[nodiscard]] Instant contradicted_since() const noexcept { return contradiction_; }

    [[nodiscard]] Instant last_read() const noexcept { return last_read_; }

    /// Edges per second, of late.
    [[nodiscard]] std::uint32_t rate() const noexcept { return rate_; }

private:
    friend struct Anatomy;

    enum class Life : unsigned char { opening, open, resyncing, gone };

    void close(Instant at) noexcept;

    const Limits* limits_ = &published_limits;
    Debounce debounce_;
    Readability readability_;
    Life life_ = Life::opening;
    bool newly_open_ = true;   ///< the next Resync is the first
    bool unreadable_ = false;  ///< that is why it is gone
    bool sleeps_ = false;      ///< its chip, as it was opened last
    bool too_often_ = false;
    Instant settled_at_{};
    Instant contradiction_ = never;
    bool read_failed_ = false;  ///< it is only that: the next read tells
    Instant last_read_{};
    Instant retry_at_ = never;
    Duration back_off_{};  ///< the latest; none: the next is the first
    std::uint32_t rate_ = 0;
};

}  // namespace nightlatch::core
