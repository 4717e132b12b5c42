// SPDX-License-Identifier: MIT
#include "supervisor/publisher.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::supervisor {

using core::State;
using core::Why;

Publisher::Publisher(Constant constant) {
    published_.configuration.path = std::move(constant.configuration);
    published_.dry = constant.dry;
    published_.version = std::move(constant.version);
    told_ = published_;
}

void Publisher::happened(const Event& event) {
    at_ = event.at;
    std::visit([this](const auto& what) { take(what); }, event.what);
}

std::vector<Property> Publisher::take_changes() {
    if (!std::exchange(touched_, false)) {
        return {};
    }
    std::vector<Property> changes = differences(told_, published_);
    if (!changes.empty()) {
        told_ = published_;
    }
    return changes;
}

void Publisher::refresh() {
    published_.reason = reason();
    published_.stage = stage();
    touched_ = true;
}

// --- the configuration ---------------------------------------------------------------------------

void Publisher::take(const Started& started) {
    cue_ = {};
    request_.reset();
    line_.reset();
    published_.alarms.clear();  // only a restart forgets which are due
    in_force(*started.settings);
}

void Publisher::take(const Reloaded& reloaded) {
    in_force(*reloaded.settings);
}

/// An alarm that keeps its name goes on.
void Publisher::in_force(const config::Settings& settings) {
    published_.stages = settings.core.stages;
    published_.line.where = settings.button.where;
    published_.configuration.loaded = at_;
    const auto before = std::exchange(published_.alarms, {});
    for (const core::Alarm& alarm : settings.core.alarms) {
        const bool due =
            std::find(before.begin(), before.end(), PublishedAlarm{alarm.name, true}) !=
            before.end();
        published_.alarms.push_back({alarm.name, due});
    }
    refresh();
}

void Publisher::on_disk(OnDisk state, const std::string& trouble) {
    published_.configuration.on_disk = state;
    published_.configuration.trouble = trouble;
    touched_ = true;
}

// --- the lines -----------------------------------------------------------------------------------

void Publisher::take(const LineOpened& opened) {
    if (opened.line == core::button_line) {
        line_.reset();
        published_.line.watching = true;
        refresh();
    }
}

void Publisher::take(const LineClosing& closing) {
    if (closing.line == core::button_line) {
        published_.line.watching = false;
        touched_ = true;
    }
}

void Publisher::take(const LineLost& lost) {
    if (lost.line == core::button_line) {
        line_ = Reason{.code = ReasonCode::line_lost, .text = lost.error.text};
        if (lost.error.number != 0) {
            line_->error = lost.error.number;
        }
        refresh();
    }
}

void Publisher::take(const LineUnreadable& line) {
    unreadable(line.note);
}

void Publisher::unreadable(const core::Note& note) {
    if (note.line == core::button_line) {
        line_ = Reason{.code = ReasonCode::line_unreadable, .rate = note.index};
        refresh();
    }
}

// --- a request -----------------------------------------------------------------------------------

Reason Publisher::of_request(ReasonCode code) const {
    return {.code = code, .alarm = alarm_};
}

void Publisher::show_request(Reason reason) {
    request_ = std::move(reason);
    refresh();
}

/// No edge leads beyond the switch.
void Publisher::take(const Noted& noted) {
    const core::Note& note = noted.note;
    switch (note.why) {
    case Why::asked:
        begin_request(note);
        break;
    case Why::request_sent:
        sent_ = true;
        break;
    case Why::not_sent:
        show_request(of_request(ReasonCode::not_sent));
        break;
    case Why::no_answer:
    case Why::login_manager_gone:
        if (note.from != note.to) {
            show_request(of_request(ReasonCode::no_answer));
        }
        break;
    case Why::given_up:
        show_request(of_request(ReasonCode::given_up));
        break;
    case Why::line_unreadable_still:
        unreadable(note);
        break;
    default:
        break;
    }
}

/// By the press whose stage the note names, or else by the alarm that has just come due.
void Publisher::begin_request(const core::Note& note) {
    sent_ = false;
    alarm_ = note.index == core::no_index ? due_ : "";
    show_request(of_request(alarm_.empty() ? ReasonCode::asked : ReasonCode::alarm));
}

void Publisher::take(const PowerOffRefused& refused) {
    alarm_.clear();  // an alarm asks whatever is known of the post-halt line
    show_request({.code = ReasonCode::no_post_halt, .text = refused.reason});
}

void Publisher::take(const Answered& answered) {
    const core::Note& note = answered.note;
    switch (note.why) {
    case Why::request_accepted:
        sent_ = true;
        if (note.to == State::asked) {
            show_request(of_request(alarm_.empty() ? ReasonCode::asked : ReasonCode::alarm));
        }
        break;
    case Why::request_refused: {
        // It may come after what it led to: then it says why.
        const bool failed =
            note.from == State::refused && request_ && request_->code == ReasonCode::failed;
        const ReasonCode other = answered.blocker ? ReasonCode::locked : ReasonCode::refused;
        Reason reason = of_request(failed ? ReasonCode::failed : other);
        reason.blocker = answered.blocker;
        reason.text = answered.text;
        show_request(std::move(reason));
        break;
    }
    case Why::request_failed:  // and a shutdown goes on
        show_request({.code = ReasonCode::other_shutdown});
        break;
    case Why::dry_leaving:
        if (note.from != State::leaving) {
            show_request(of_request(ReasonCode::dry));
        }
        break;
    default:
        break;
    }
}

void Publisher::take(const GoingDown& going) {
    const core::Note& note = going.note;
    if (note.why == Why::going_down) {
        gone_down(note);
    } else if (note.from != note.to && note.to == State::unanswered) {
        show_request(of_request(ReasonCode::no_answer));
    } else if (note.from != note.to && note.to == State::refused) {
        given_up(going);
    }
}

/// Ours is one of which the request was sent.
void Publisher::gone_down(const core::Note& note) {
    const bool asked = note.from == State::asked || note.from == State::unanswered;
    if (asked && sent_) {
        show_request(of_request(alarm_.empty() ? ReasonCode::asked : ReasonCode::alarm));
    } else {
        show_request({.code = ReasonCode::other_shutdown});
    }
}

void Publisher::given_up(const GoingDown& going) {
    const core::Note& note = going.note;
    const bool began = note.from == State::leaving || note.why == Why::not_going_down;
    const bool nothing_came = note.why == Why::nothing_came || !began;
    Reason reason = of_request(nothing_came ? ReasonCode::nothing_came : ReasonCode::failed);
    reason.text = going.failure;
    show_request(std::move(reason));
}

// --- alarms, and what is shown -------------------------------------------------------------------

void Publisher::take(const AlarmDue& due) {
    due_ = due.cause.name;
    alarm_is(due_, true);
}

void Publisher::take(const AlarmTold& told) {
    if (told.note.why != Why::alarm_ignored) {
        alarm_is(told.name, told.note.why == Why::alarm_pending);
    }
}

void Publisher::alarm_is(const std::string& name, bool due) {
    for (PublishedAlarm& alarm : published_.alarms) {
        if (alarm.name == name) {
            alarm.due = due;
        }
    }
    touched_ = true;
}

void Publisher::take(const CueShown& shown) {
    cue_ = shown.cue;
    published_.cue = cue_.name;
    published_.since = cue_.since;
    // When the line is tried again is not told anew each time, and is not the fault's end.
    published_.until = cue_.state == State::fault ? never : cue_.until;
    refresh();
}

void Publisher::take(const PostHaltLooked& looked) {
    published_.post_halt = looked.report.verdict;
    touched_ = true;
}

std::optional<Reason> Publisher::reason() const {
    switch (cue_.state) {
    case State::asked:
    case State::unanswered:
    case State::leaving:
    case State::refused:
        return request_;
    case State::fault:
        return line_;
    case State::stuck:
        return Reason{.code = ReasonCode::stuck};
    case State::waiting:
    case State::rest:
    case State::holding:
    case State::ready:
    case State::countdown:
        break;
    }
    return std::nullopt;
}

/// A press that an alarm or somebody else's shutdown came before is over, though it was not let go.
std::string Publisher::stage() const {
    const auto& reason = published_.reason;
    const bool others =
        reason && (reason->code == ReasonCode::other_shutdown || !reason->alarm.empty());
    return others || cue_.stage >= published_.stages.size() ? ""
                                                            : published_.stages[cue_.stage].name;
}

}  // namespace nightlatch::supervisor
