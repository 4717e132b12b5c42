// SPDX-License-Identifier: MIT
#pragma once

#include "core/input.hpp"

#include <optional>

namespace nightlatch::core {

enum class SettleKind : unsigned char {
    pressed,        ///< released before, settled as pressed
    found_pressed,  ///< nothing known before, settled as pressed
    released,       ///< settled as released, whatever was before
    glitch,         ///< the old level has been stable again
    pressed_again,  ///< so has the pressed level, but its drop-outs add up to a release
};

struct Settled {
    SettleKind kind = SettleKind::glitch;
    Instant at;    ///< when it was settled
    Instant edge;  ///< pressed, pressed again: its last edge (the begin); else the episode's first
    Instant opened{};    ///< pressed again: when the episode began
    Duration dropped{};  ///< pressed again: how long the line read released since the begin before
};

/// Two-interval debounce of one line. From the settled level any sample opens an unsettled episode
/// (an equal one too: merged edges); it ends when a level has been stable for its own interval.
///
///   press      ___|-|_|------------            begin = last edge, settled one press interval later
///   release    ------|_|-|_________            end = first edge, settled one release interval
/// later
///   glitch     ------|_|-----------            pressed again for the press interval: nothing
/// happened
///   again      ---|_|---|_|------------        so too, but this press's drop-outs have, together,
/// reached the release interval: let go, and a new press whose begin is the last edge
class Debounce {
public:
    void set_intervals(Duration press, Duration release) noexcept;

    /// The line was read as `level` at `at`; nothing is settled.
    void reset(Instant at, Level level) noexcept;
    /// The line cannot be read: nothing settles.
    void lose() noexcept;

    void sample(const Sample& sample) noexcept;

    /// When expire() has something to say; never while settled.
    [[nodiscard]] Instant deadline() const noexcept;
    /// Ends the episode whose deadline() has come. Precondition: deadline() != never.
    Settled expire() noexcept;

    /// Pressed, settled, and outside an episode.
    [[nodiscard]] bool confirmed_pressed() const noexcept {
        return settled_ == Level::active && !unsettled_;
    }

    [[nodiscard]] bool settled_pressed() const noexcept { return settled_ == Level::active; }

    [[nodiscard]] bool settled_released() const noexcept { return settled_ == Level::inactive; }

    /// The settled level; nothing before the first.
    [[nodiscard]] std::optional<Level> settled() const noexcept { return settled_; }

    /// The last level seen; nothing while the line cannot be read.
    [[nodiscard]] std::optional<Level> raw() const noexcept { return raw_; }

    [[nodiscard]] Instant last_sample() const noexcept { return stable_since_; }

    [[nodiscard]] bool in_episode() const noexcept { return unsettled_; }

    /// Since when neither level has settled: the episode's first sample, or the reset; never while
    /// one has, or while the line cannot be read.
    [[nodiscard]] Instant unsettled_since() const noexcept;

private:
    friend struct Anatomy;

    [[nodiscard]] bool let_go_meanwhile() const noexcept;
    Settled press_again(Instant at) noexcept;

    Duration press_{};
    Duration release_{};
    std::optional<Level> settled_;
    std::optional<Level> raw_;
    Instant stable_since_{};   ///< the last sample's stamp
    Instant episode_start_{};  ///< the episode's first sample; before the first settling, the reset
    Duration dropped_{};       ///< since the press began: what the line read released in all
    bool unsettled_ = false;   ///< within an episode
};

}  // namespace nightlatch::core
