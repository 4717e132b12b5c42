// SPDX-License-Identifier: MIT
#pragma once

#include "core/action.hpp"
#include "core/cue.hpp"
#include "core/debounce.hpp"
#include "core/input.hpp"
#include "core/ring.hpp"
#include "core/storm.hpp"
#include "core/trace.hpp"

#include <memory>
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
/// of at least the stage's hold whose drop-outs are shorter than the release interval in all;
/// unknown, blocked or broken means do nothing.
class Core {
public:
    /// The settings are kept by reference: whoever else needs them has the same ones.
    explicit Core(std::shared_ptr<const Settings> settings);

    void feed(const Input& input);
    void advance(Instant now);

    /// When advance() has something to do next; `never` when only an input can change anything.
    [[nodiscard]] Instant next_deadline() const noexcept;

    /// The oldest action not yet taken. After advance() take until empty.
    std::optional<ActionOut> take_action() noexcept;

    [[nodiscard]] State state() const noexcept { return state_; }

    [[nodiscard]] Cue cue() const noexcept;

    /// As debounced; nothing while the line is not known or has not settled since it was.
    [[nodiscard]] std::optional<Level> settled() const noexcept { return debounce_.settled(); }

    /// The oldest line of the trace not yet taken; when nobody takes them the oldest are lost.
    std::optional<Note> take_note() noexcept { return notes_.pop(); }

    [[nodiscard]] const Settings& settings() const noexcept { return *settings_; }

    [[nodiscard]] std::uint32_t late_edges() const noexcept { return late_edges_; }

private:
    enum class LineState : unsigned char { opening, open, resyncing, gone };

    // One function a column of the state table, each with every state written down.
    void on_press(const Settled& press);
    void on_found_pressed(const Settled& found);
    void on_pressed_again(const Settled& again);
    void on_release(const Settled& release);
    void on_resync(Instant at);
    void on_line_gone(Instant at, Why why);
    void on_alarm(const AlarmDue& due);
    void on_answer(const Answer& answer);
    void on_going_down(const GoingDown& going);
    void on_not_going_down(Instant at);

    // Inputs.
    [[nodiscard]] bool is_of_another_line(const Input& input);
    void take(const Sample& sample);
    void take(const LineOpened& opened);
    void take(const Resync& resync);
    void take(const LevelRead& read);
    void take(const LineGone& gone);
    void take(const LineMayBeBack& back);
    void take(const Answer& answer);
    void take(const GoingDown& going);
    void take(const LoginManager& manager);
    void take(const AlarmDue& due);
    void take(const VerdictKnown& known);
    void take(const NewSettings& next);

    // Time.
    void run_until(Instant now);
    [[nodiscard]] Instant timer() const noexcept;
    [[nodiscard]] Instant press_timer() const noexcept;
    [[nodiscard]] Instant countdown_timer() const noexcept;
    void pass_timer(Instant at);
    void pass_press_timer(Instant at);
    void settle(const Settled& settled);

    // Deciding.
    struct Decision {
        Instant at;
        Action action = Action::power_off;
        Inhibitors inhibitors = Inhibitors::respect;
        std::uint32_t stage = no_index;
        std::uint32_t alarm = no_index;
        Duration held{};
        Instant released;  ///< from here a press that calls off is counted
    };

    void decide_stage(Instant at, Instant end);
    void decide(const Decision& decision);
    void ask(const Decision& decision);
    bool drop_unconfirmed(Instant at);
    [[nodiscard]] bool may_power_off_next() const noexcept;
    void demand_resync(Instant at, ResyncWhy why);
    void retry_line_later(Instant at);

    // Moving.
    void enter(
        State next, Instant at, Why why, Duration length = {}, std::uint32_t index = no_index);
    void note(Instant at, Why why, Duration length = {}, std::uint32_t index = no_index);
    void to_rest(Instant at, Why why, Duration length = {});
    void to_waiting(Instant at, Why why);
    [[nodiscard]] bool calls_off(Instant begin) const noexcept;
    [[nodiscard]] Duration guard() const noexcept;
    [[nodiscard]] Instant stage_instant(std::uint32_t index) const noexcept;
    [[nodiscard]] std::uint32_t next_stage() const noexcept;
    void hold_back_if_pressed(Instant at, GoingDownKind kind);
    void update_delay_lock();

    std::shared_ptr<const Settings> settings_;
    Debounce debounce_;
    Storm storm_;
    Ring<ActionOut, 32> actions_;
    bool look_wanted_ = false;  ///< at the post-halt line: goes out last, as long as it is of use
    Ring<Note, 64> notes_;

    State state_ = State::waiting;
    Instant since_{};
    Instant advanced_ = Instant::min();  ///< the latest advance()
    Instant press_begin_{};              ///< of the settled press
    std::uint32_t reached_ = no_index;   ///< the longest stage reached
    bool said_pressed_ = false;          ///< the line that reads pressed for ever was spoken of
    Instant waiting_pressed_since_ = never;
    Instant settled_at_{};  ///< when the line was last settled: nothing of a press is due before

    Decision decision_{};          ///< what the countdown or the request is about
    Instant state_until_ = never;  ///< end of countdown, of patience (asked), of the refusal
    std::optional<ActionOut> unconfirmed_;  ///< leaves by the next advance()
    bool own_request_ = false;              ///< the shutdown under way is the one we asked for
    bool holding_back_ = false;             ///< leaving waits for the finger
    bool lock_wanted_ = true;

    LineState line_ = LineState::opening;
    bool line_floats_ = false;
    bool line_sleeps_ = false;  ///< its chip, as it was opened last
    Instant retry_at_ = never;
    Duration back_off_ = limits::first_back_off;
    std::optional<Instant> contradiction_;  ///< since when the level read is not the core's
    Instant last_read_{};

    Verdict verdict_ = Verdict::cannot_tell;
    std::uint32_t late_edges_ = 0;
};

}  // namespace nightlatch::core
