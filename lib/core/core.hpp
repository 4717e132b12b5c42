// SPDX-License-Identifier: MIT
#pragma once

#include "core/action.hpp"
#include "core/alarm_watch.hpp"
#include "core/cue.hpp"
#include "core/input.hpp"
#include "core/line.hpp"
#include "core/ring.hpp"
#include "core/trace.hpp"

#include <memory>
#include <optional>
#include <vector>

namespace nightlatch::core {

/// The whole of what Nightlatch decides about one button and its alarms: pure, time is an argument,
/// no allocation on the way of a sample.
///
/// Contract. (1) feed() and advance() are the only ways in, take_action() and next_deadline() the
/// only ways out (cue(), state() and take_note() look on). (2) Samples are ordered by their own
/// stamps; an advance to an earlier time does nothing. (3) On a wake-up the shell reads the clock,
/// drains and feeds; when next_deadline() is due it reads the level, drains again, feeds LevelRead,
/// then advances. (4) After the line was opened, or on RunResync, the shell runs the Resync
/// procedure and feeds Resync (or LineGone). (5) What is not a sample is taken in when the timers
/// have run to its stamp: it waits while a deadline is open that was due by then, and in order
/// while a level that was read contradicts.
///
/// Ties: a deadline at t passes before an input stamped t. A request leaves only by advance(): what
/// feed() decided is held back until the level has been read, and dropped when that contradicts.
///
/// Safety, tested as properties: a line active at start is ignored until it has been seen released
/// for the release interval; at most one request is outstanding; a request is preceded by a press
/// of at least the stage's hold whose drop-outs are shorter than the release interval in all;
/// unknown, blocked or broken means do nothing. Liveness, too: every state that spends presses ends
/// by itself, whatever does not come.
class Core {
public:
    /// The settings are kept by reference: whoever else needs them has the same ones. `known`: the
    /// alarms that were looked at in this boot before.
    explicit Core(std::shared_ptr<const Settings> settings,
                  const std::vector<KnownAlarm>& known = {});

    void feed(const Input& input);
    void advance(Instant now);

    /// When advance() has something to do next; `never` when only an input can change anything.
    [[nodiscard]] Instant next_deadline() const noexcept;

    /// The same of one line: its level is read before next_deadline() passes if this has come.
    [[nodiscard]] Instant read_due(LineIndex line) const noexcept;

    /// The oldest action not yet taken. After advance() take until empty.
    std::optional<ActionOut> take_action() noexcept;

    [[nodiscard]] State state() const noexcept { return state_; }

    [[nodiscard]] Cue cue() const noexcept;

    /// As debounced; nothing while the line is not known or has not settled since it was.
    [[nodiscard]] std::optional<Level> settled() const noexcept {
        return line_.debounce().settled();
    }

    /// May the call of this request be made now? Asked by whoever is about to, on the last moment:
    /// after it the core counts the request as sent.
    [[nodiscard]] bool may_send(std::uint32_t request) const noexcept {
        return request_.open && request_.number == request && !unconfirmed_;
    }

    /// The oldest line of the trace not yet taken; when nobody takes them the oldest are lost.
    std::optional<Note> take_note() noexcept { return notes_.pop(); }

    /// The line was found unreadable, and has not been readable for long enough since.
    [[nodiscard]] bool suspects(LineIndex line) const noexcept;

    [[nodiscard]] const Settings& settings() const noexcept { return *settings_; }

    [[nodiscard]] std::uint32_t late_edges() const noexcept { return late_edges_; }

private:
    friend struct Anatomy;  // of the proof: its states are all that is in here (tests/proof)

    // One function a column of the state table, each with every state written down.
    void on_press(const Settled& press);
    void on_found_pressed(const Settled& found);
    void on_pressed_again(const Settled& again);
    void on_release(const Settled& release);
    void on_resync(Instant at);
    void on_line_gone(Instant at, Why why);
    void on_alarm(std::uint32_t index, Instant at);
    void on_accepted(const Answer& answer);
    void on_refused(const Answer& answer);
    void on_would_do(const Answer& answer);
    void on_going_down(const GoingDown& going);
    void on_not_going_down(Instant at, Why why);

    // Inputs.
    void take(const Sample& sample);
    void note_if_late(Instant stamp);
    void take(const LineOpened& opened);
    void take(const Resync& resync);
    void take(const LevelRead& read);
    void take(const LineGone& gone);
    void take(const LineMayBeBack& back);
    void take(const Answer& answer);
    void take(const GoingDown& going);
    void take(const Preparing& preparing);
    void take(const LoginManager& manager);
    void take(const CallOff& call_off);
    void take(const VerdictKnown& known);
    void take(const NewSettings& next);
    void hear(const Message& message);
    void hear_next();
    void hear_all();

    // Alarms.
    template <class Given>
    void take_elsewhere(const Given& given);
    void take_alarm(AlarmWatch& alarm, const Sample& sample);
    void take_alarm(AlarmWatch& alarm, const LineOpened& opened);
    void take_alarm(AlarmWatch& alarm, const Resync& resync);
    void take_alarm(AlarmWatch& alarm, const LevelRead& read);
    void take_alarm(AlarmWatch& alarm, const LineGone& gone);
    void pass_alarm(AlarmWatch& alarm);
    void resync_alarm(AlarmWatch& alarm, Instant at, ResyncWhy why);
    void alarm_unreadable(AlarmWatch& alarm, Instant at);
    void note_readable(AlarmWatch& alarm, Instant at);
    void alarm_contradictions(Instant now);
    void set_alarms(const std::vector<KnownAlarm>& known);
    void reload_alarms(const Settings& before);
    [[nodiscard]] bool may_ask(const AlarmWatch& alarm) const noexcept;
    [[nodiscard]] AlarmWatch* asking_alarm() noexcept;
    [[nodiscard]] Instant asks_at(const AlarmWatch& alarm) const noexcept;
    [[nodiscard]] Instant read_due(const AlarmWatch& alarm) const noexcept;
    [[nodiscard]] Instant alarm_at(const AlarmWatch& alarm) const noexcept;
    [[nodiscard]] std::uint32_t index_of(const AlarmWatch& alarm) const noexcept;
    [[nodiscard]] Instant alarms_at() const noexcept;
    void pass_alarms(Instant at);
    void note_alarm(const AlarmWatch& alarm, Instant at, Why why, std::uint32_t index = no_index);

    // Time.
    enum class Deadlines : unsigned char { buttons, all };
    void run_until(Instant now, Deadlines which);
    [[nodiscard]] Instant timer() const noexcept;
    [[nodiscard]] Instant line_timer() const noexcept;
    [[nodiscard]] Instant press_timer() const noexcept;
    [[nodiscard]] Instant state_timer() const noexcept;
    [[nodiscard]] Instant countdown_timer() const noexcept;
    [[nodiscard]] Instant message_at() const noexcept;
    void pass_timer(Instant at);
    void pass_line_timer(Instant at);
    void pass_press_timer(Instant at);
    void pass_state_timer(Instant at);
    void pass_asked(Instant at);
    void pass_dry(Instant at);
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
    bool drop_unsent(Instant at);
    void mark_sent();
    void withdraw();
    void refuse(Instant at, Why why, std::uint32_t words = no_index);
    [[nodiscard]] bool may_power_off_next() const noexcept;
    void demand_resync(Instant at, ResyncWhy why);
    void ask_preparing(Instant at);
    void cannot_tell(Instant at);
    void not_preparing(const Preparing& preparing);
    void leave(Instant at, Why why, bool own);
    void to_unanswered(Instant at, Why why);

    // Moving.
    void enter(
        State next, Instant at, Why why, Duration length = {}, std::uint32_t index = no_index);
    void note(Instant at, Why why, Duration length = {}, std::uint32_t index = no_index);
    void to_rest(Instant at, Why why, Duration length = {});
    [[nodiscard]] Instant calls_off_at() const noexcept;
    [[nodiscard]] Duration guard() const noexcept;
    [[nodiscard]] Instant stage_instant(std::uint32_t index) const noexcept;
    [[nodiscard]] std::uint32_t next_stage() const noexcept;
    bool hold_back_if_pressed(Instant at, GoingDownKind kind);
    void update_delay_lock();

    [[nodiscard]] const Limits& limits() const noexcept { return settings_->limits; }

    std::shared_ptr<const Settings> settings_;
    Line line_;
    std::vector<AlarmWatch> alarms_;
    Ring<ActionOut, 64> actions_;
    bool look_wanted_ = false;  ///< at the post-halt line: goes out last, as long as it is of use
    Ring<Note, 64> notes_;

    struct Waiting {
        Instant at;
        Message message;
    };

    Ring<Waiting, 16> messages_;  ///< that wait for the timers to have run

    State state_ = State::waiting;
    Instant since_{};
    Instant advanced_ = Instant::min();  ///< the latest advance()
    Instant press_begin_{};              ///< of the settled press
    std::uint32_t reached_ = no_index;   ///< the longest stage reached
    bool said_pressed_ = false;          ///< the line that reads pressed for ever was spoken of
    Instant waiting_pressed_since_ = never;

    Decision decision_{};                   ///< what the countdown or the request is about
    Instant state_until_ = never;           ///< when the state ends by itself
    std::optional<ActionOut> unconfirmed_;  ///< leaves by the next advance()

    /// The latest request. Open: outstanding.
    struct Request {
        std::uint32_t number = 0;
        bool open = false;
        bool sent = false;
        bool accepted = false;
        bool by_second_route = false;    ///< which took it up
        std::uint32_t asked_before = 0;  ///< the question that was the latest when it was sent
        Instant asked_at{};
    };

    Request request_;
    bool own_ = false;           ///< leaving: the shutdown may be the one that we asked for
    bool dry_ = false;           ///< leaving: only shown
    Instant known_going_{};      ///< leaving: when that was known last
    bool holding_back_ = false;  ///< leaving waits for the finger
    bool lock_wanted_ = true;

    std::uint32_t question_ = 0;  ///< the latest: is a shutdown being prepared?
    Instant question_until_ = never;

    Verdict verdict_ = Verdict::cannot_tell;
    std::uint32_t late_edges_ = 0;
};

}  // namespace nightlatch::core
