// SPDX-License-Identifier: MIT
#include "rehearsal/recorder.hpp"

#include "config/pattern_text.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::rehearsal {
namespace {

using core::Why;
using wave::MarkKind;

std::optional<MarkKind> mark_of(Whose whose) {
    switch (whose) {
    case Whose::decision:
        return MarkKind::decision;
    case Whose::request:
        return MarkKind::request;
    case Whose::login:
        return MarkKind::answer;
    case Whose::service:
        return MarkKind::service;
    case Whose::chip:
    case Whose::warning:
        return MarkKind::trouble;
    case Whose::remark:
        return MarkKind::remark;
    case Whose::button:
    case Whose::cue:
    case Whose::info:  // the lanes of the hold and the cue show it
    case Whose::detail:
        break;
    }
    return std::nullopt;
}

/// What a step of the script is marked as: something good is no trouble.
std::optional<MarkKind> mark_of(const ScriptStep& step, Whose whose) {
    const auto* const fault = std::get_if<ChipFault>(&step);
    const auto* const alarm = std::get_if<AlarmMoves>(&step);
    const bool good = (fault != nullptr && *fault == ChipFault::comes_back) ||
                      (alarm != nullptr && alarm->level == Level::inactive);
    return good ? MarkKind::info : mark_of(whose);
}

/// Who does the step, where its own words leave that to a column: "the chip ".
std::string_view subject_of(const ScriptStep& step) {
    if (std::holds_alternative<ChipFault>(step) || std::holds_alternative<DropEvents>(step)) {
        return "the chip ";
    }
    const auto* const login = std::get_if<LoginDoes>(&step);
    const bool somebody_else =
        login != nullptr && (*login == LoginDoes::power_off || *login == LoginDoes::reboot);
    if (std::holds_alternative<LoginAnswers>(step) || (login != nullptr && !somebody_else)) {
        return "the login manager ";
    }
    const auto* const service = std::get_if<ServiceDoes>(&step);
    return service != nullptr && *service != ServiceDoes::boot ? "the service " : "";
}

wave::LookChange look_change(Duration at, const core::Pattern& pattern) {
    wave::LookChange change{at, config::pattern_text(pattern), pattern.on, pattern.off, false};
    change.repeats = pattern.kind == core::PatternKind::blink;
    if (pattern.kind == core::PatternKind::on) {
        change.on = Duration::max();
    }
    return change;
}

wave::Output output_of(const config::Feedback& feedback) {
    if (const auto* const led = std::get_if<config::LedName>(&feedback.output)) {
        return {led->name, "lamp", {}};
    }
    return {std::get<config::FeedbackLine>(feedback.output).where.line, "line", {}};
}

std::optional<AskedOutcome> outcome_of(Why why) {
    switch (why) {
    case Why::request_accepted:
    case Why::going_down:
    case Why::dry_leaving:
        return AskedOutcome::accepted;
    case Why::request_refused:
    case Why::request_failed:
    case Why::not_sent:
    case Why::given_up:
    case Why::nothing_came:
    case Why::not_preparing:
        return AskedOutcome::refused;
    case Why::no_answer:
    case Why::login_manager_gone:
        return AskedOutcome::unanswered;
    default:
        return std::nullopt;
    }
}

/// A hold is over when its length is told.
bool tells_length_of_hold(const core::Note& note) {
    return note.why == Why::near_miss || note.why == Why::decided ||
           (note.why == Why::release_accepted && note.from == core::State::stuck);
}

bool is_of_a_hold(core::State state) {
    return state == core::State::holding || state == core::State::ready ||
           state == core::State::stuck;
}

}  // namespace

Recorder::Recorder(const ports::Clock& clock, bool details) : clock_(clock), details_(details) {
    record_.start = clock.now();
}

void Recorder::expect(const PressScript& script) {
    const std::size_t more = script.events.size() + 64;
    record_.moments.reserve(2 * more);
    record_.timeline.raw.reserve(more);
    button_ = script.level_at_start;
    raw(Duration::zero(), button_);
}

void Recorder::happened(const supervisor::Event& event) {
    const Duration at = event.at - record_.start;
    if (const core::Note* const note = supervisor::note_of(event)) {
        noted(at, *note);
    }
    std::visit([&](const auto& what) { keep(at, what); }, event.what);
    if (auto moment = moment_of(event, record_.start, details_)) {
        add(std::move(*moment));
    }
}

void Recorder::outputs(const std::vector<config::Feedback>& feedback) {
    record_.timeline.outputs.reserve(feedback.size());
    looks_.reserve(feedback.size());
    for (const config::Feedback& one : feedback) {
        record_.timeline.outputs.push_back(output_of(one));
        looks_.push_back(one.looks);
    }
    showing_.resize(feedback.size());
}

void Recorder::keep(Duration at, const supervisor::Asked& asked) {
    record_.asked.push_back({at, asked.action, asked.inhibitors, asked.cause, AskedOutcome::open});
}

void Recorder::keep(Duration at, const supervisor::Announced& announced) {
    record_.announced.push_back({at, announced.name});
}

void Recorder::keep(Duration at, const supervisor::CueShown& shown) {
    const core::Cue& cue = shown.cue;
    const auto& stages = record_.timeline.thresholds;
    const bool of_a_stage = cue.name == core::CueName::ready && cue.stage < stages.size();
    record_.timeline.cues.push_back({at,
                                     std::string(core::text_of(cue.name)),
                                     std::string(core::text_of(cue.state)),
                                     of_a_stage ? stages[cue.stage].name : std::string()});
    record_.cues.push_back(cue);
    show(at, cue);
    if (cue.state == core::State::holding) {
        const Duration begin = cue.since - record_.start;
        end_hold(begin);  // let go within drop-outs: no release told of its end
        hold_begin_ = begin;
    } else if (!is_of_a_hold(cue.state)) {
        end_hold(at);
    }
}

/// As the adapters of lamps and lines do it.
void Recorder::show(Duration at, const core::Cue& cue) {
    for (std::size_t i = 0; i < looks_.size(); ++i) {
        const core::Pattern& next = core::look_of(looks_[i], cue);
        if (!core::goes_on(showing_[i], next)) {
            record_.timeline.outputs[i].looks.push_back(look_change(at, next));
            showing_[i] = next;
        }
    }
}

void Recorder::keep(Duration at, const supervisor::Stopping& /*stopping*/) {
    end_hold(at);
}

void Recorder::step(Instant at, const ScriptStep& step) {
    const Duration since_start = at - record_.start;
    if (const auto* moves = std::get_if<ButtonMoves>(&step)) {
        button_ = moves->level;
        raw(since_start, button_);
    } else if (const auto* fault = std::get_if<ChipFault>(&step)) {
        const bool there = *fault == ChipFault::comes_back;
        raw(since_start, there ? std::optional(button_) : std::nullopt);
    }
    Moment moment = moment_of(since_start, step);
    if (const auto kind = mark_of(step, moment.whose)) {
        record_.timeline.marks.push_back(
            {since_start, *kind, std::string(subject_of(step)) + moment.text});
    }
    record_.moments.push_back(std::move(moment));
}

void Recorder::noted(Duration at, const core::Note& note) {
    if (hold_begin_ && tells_length_of_hold(note)) {
        end_hold(*hold_begin_ + note.length);
    }
    if (note.why == Why::request_accepted || note.why == Why::going_down) {
        record_.timeline.marks.push_back({at, MarkKind::answer, core::text_of(note.why)});
    }
    const auto outcome = outcome_of(note.why);
    const bool of_ours = note.from == core::State::asked || note.from == core::State::unanswered ||
                         note.from == core::State::leaving;
    if (outcome && of_ours && !record_.asked.empty()) {
        record_.asked.back().outcome = *outcome;
    }
}

void Recorder::login_tells(Instant at, const std::string& text) {
    add({at - record_.start, Whose::login, text});
}

void Recorder::settled(std::optional<Level> level) {
    std::vector<wave::LevelChange>& lane = record_.timeline.settled;
    if (lane.empty()) {
        lane.push_back({Duration::zero(), level});
    } else if (lane.back().level != level) {
        lane.push_back({elapsed(), level});
    }
}

Rehearsal Recorder::take() {
    end_hold(elapsed());
    record_.timeline.end = elapsed();
    return std::move(record_);
}

void Recorder::raw(Duration at, std::optional<Level> level) {
    std::vector<wave::LevelChange>& lane = record_.timeline.raw;
    if (lane.empty() || lane.back().level != level) {
        lane.push_back({at, level});
    }
}

void Recorder::end_hold(Duration end) {
    if (hold_begin_) {
        record_.timeline.holds.push_back({*hold_begin_, std::max(*hold_begin_, end)});
        hold_begin_.reset();
    }
}

void Recorder::add(Moment moment) {
    if (const auto kind = mark_of(moment.whose)) {
        record_.timeline.marks.push_back({moment.at, *kind, moment.text});
    }
    record_.moments.push_back(std::move(moment));
}

}  // namespace nightlatch::rehearsal
