// SPDX-License-Identifier: MIT
#pragma once

#include "core/action.hpp"
#include "core/cue.hpp"
#include "core/debounce.hpp"
#include "core/input.hpp"
#include "core/ring.hpp"
#include "core/storm.hpp"
#include "core/trace.hpp"

#include <optional>

namespace nightlatch::core {

/// The whole of what Nightlatch decides about one button: pure, time is an argument, no allocation
/// on the way of a sample.
///
/// Contract. (1) feed() and advance() are the only ways in, take_action() and next_deadline() the
/// only ways out (cue(), state() and take_note() look on). (2) Samples are ordered by their own
/// stamps; an advance to an earlier time does nothing. (3) On a wake-up the shell reads the clock,
/// drains and feeds; when next_deadline() is due it reads the level, drains again, feeds LevelRead,
/// then advances. (4) After the line was opened, or on RunResync, the shell runs the Resync
/// procedure and feeds Resync (or LineGone).
///
/// Ties: a deadline at t passes before a sample stamped t. A request leaves only by advance(): what
/// feed() decided is held back until the level has been read, and dropped when that contradicts.
///
/// Safety, tested as properties: a line active at start is ignored until it has been seen released
/// for the release interval; at most one request is outstanding; a request is preceded by a press
/// of at least the stage's hold in which no drop-out reached the release interval; unknown, blocked
/// or broken means do nothing.
class Core {
public:
    explicit Core(Settings settings);

    void feed(const Input& input);
    void advance(Instant now);

    /// When advance() has something to do next; `never` when only an input can change anything.
    [[nodiscard]] Instant next_deadline() const noexcept;

    /// The oldest action not yet taken. After advance() take until empty.
    std::optional<ActionOut> take_action() noexcept;

    [[nodiscard]] State state() const noexcept { return state_; }

    [[nodiscard]] Cue cue() const noexcept;

    /// The oldest line of the trace not yet taken; when nobody takes them the oldest are lost.
    std::optional<Note> take_note() noexcept { return notes_.pop(); }

    [[nodiscard]] const Settings& settings() const noexcept { return settings_; }

    [[nodiscard]] std::uint32_t late_edges() const noexcept { return late_edges_; }

