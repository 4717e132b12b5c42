// SPDX-License-Identifier: MIT
#pragma once

#include "bounds.hpp"
#include "codec.hpp"
#include "core/settings.hpp"

#include <array>

namespace nightlatch::proof {

/// One line as an onlooker has it who is told the edges and nothing else. Of all the times at which
/// its level may have begun to last it keeps, for each sum of drop-outs below the release interval,
/// the earliest: a later one with as many is no better.
class LineView {
public:
    explicit LineView(const core::Settings& settings) : settings_(&settings) {}

    /// Read anew: nothing before counts. `lasts`: a level that is there begins to last now.
    void found(Instant at, Level level, bool lasts);
    void lose();

    /// False when the edge is older than what was taken for settled: the line is lost then.
    bool edge(Instant stamp, Level level, bool may_begin);

    /// What settles by `at`, if no edge came since.
    struct Settles {
        bool pressed = false;
        bool released = false;
        Instant at = never;
    };

    Settles run_until(Instant at);

    /// What was there counts no more.
    void forget_begins() { begins_.fill(never); }

    [[nodiscard]] bool known() const { return known_; }

    [[nodiscard]] Level level() const { return level_; }

    /// The last edge, an equal one too.
    [[nodiscard]] Instant stable_since() const { return stable_since_; }

    [[nodiscard]] bool in_episode() const { return in_episode_; }

    [[nodiscard]] Instant settled_at() const { return settled_at_; }

    [[nodiscard]] Instant episode() const { return episode_; }

    [[nodiscard]] bool settled_pressed() const { return known_ && settled_ == Level::active; }

    [[nodiscard]] bool settled_released() const { return known_ && settled_ == Level::inactive; }

    /// The longest that it can be said to have lasted by `at`, drop-outs below the interval in all;
    /// below zero: not at all.
    [[nodiscard]] Duration lasted(Instant at) const;

    template <class Codec>
    void walk(Codec& codec, Duration clamp, Duration calm, const Bounds& bounds) {
        codec.small(known_);
        std::optional<Level> level = level_;
        codec.level(level, known_);
        level_ = level.value_or(Level::inactive);
        codec.level(settled_);
        codec.small(in_episode_);
        codec.stamp(stable_since_, known_, settled_ && !in_episode_ ? calm : unclamped);
        codec.stamp(episode_, in_episode_);
        codec.stamp(settled_at_, known_ && settled_.has_value(), bounds.overtaken);
        for (Instant& begin : begins_) {
            codec.stamp(begin, true, clamp);
        }
    }

private:
    static constexpr std::size_t most = 4;  ///< ticks of the longest release interval

    void drop_out(Duration length);

    const core::Settings* settings_;
    bool known_ = false;
    Level level_ = Level::inactive;
    std::optional<Level> settled_;
    bool in_episode_ = false;
    Instant stable_since_{};
    Instant episode_{};
    Instant settled_at_{};
    std::array<Instant, most> begins_{never, never, never, never};  ///< by the ticks of drop-outs
};

}  // namespace nightlatch::proof
