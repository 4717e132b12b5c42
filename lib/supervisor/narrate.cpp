// SPDX-License-Identifier: MIT
#include "supervisor/narrate.hpp"

#include "base/duration_text.hpp"
#include "core/limits.hpp"
#include "core/storm.hpp"

namespace nightlatch::supervisor {
namespace {

using core::Note;
using core::Why;
using ports::Message;
using ports::Priority;

const core::Stage* stage_of(const Note& note, const config::Settings& settings) {
    return note.index < settings.core.stages.size() ? &settings.core.stages[note.index] : nullptr;
}

std::string in_quotes(const std::string& name) {
    return "\"" + name + "\"";
}

std::string near_miss(const Note& note, const config::Settings& settings) {
    const core::Stage& first = settings.core.stages.front();
    return "let go after " + seconds_text(note.length) + ": nothing happens (stage " +
           in_quotes(first.name) + " needs " + to_text(first.hold) + ")";
}

std::string decided(const Note& note, const config::Settings& settings) {
    const core::Stage* stage = stage_of(note, settings);
    if (stage == nullptr) {
        return text_of(note.why);
    }
    const bool let_go = settings.core.act_on == core::ActOn::release;
    return std::string(let_go ? "let go after " : "held for ") + seconds_text(note.length) +
           ": stage " + in_quotes(stage->name) + ", " + std::string(text_of(stage->action));
}

std::string reached(const Note& note, const config::Settings& settings) {
    const core::Stage* stage = stage_of(note, settings);
    if (stage == nullptr) {
        return text_of(note.why);
    }
    return "held for " + to_text(stage->hold) + ": letting go now means " +
           std::string(text_of(stage->action)) + " (stage " + in_quotes(stage->name) + ")";
}

std::string pressed_again(const Note& note) {
    if (note.to != core::State::holding) {
        return text_of(note.why);
    }
    return "the button line dropped out for " + seconds_text(note.length) +
           " in all during the hold: that counts as letting go, and the hold begins anew";
}

std::string pressed_for_ever(const Note& note, const config::Settings& settings) {
    const config::Button& button = settings.button;
    return text_of(button.where) + " has read pressed for " + seconds_text(note.length) +
           " and was never seen released; usually the button is stuck, nothing pulls the line to " +
           (button.active_low ? "high" : "low") +
           " at rest (see `bias`), `pressed` names the wrong level, or the line is a status line "
           "tapped from a latched node that is active while the supply is on";
}

std::string stuck(const Note& note) {
    return "pressed for " + seconds_text(note.length) +
           ": too long for a press; nothing happens until it is let go (is the button stuck?)";
}

std::string refused(const std::string& answer) {
    return "the request was refused" + (answer.empty() ? std::string() : ": " + answer);
}

std::string unsettled(const Note& note) {
    return "the button line did not settle for " + seconds_text(note.length) +
           ": the press is void (bounce longer than the debounce intervals, or a bad contact)";
}

std::string storm(const config::Settings& settings) {
    return text_of(settings.button.where) + " floats: " + core::storm_text() +
           "; let go of, tried again later (is a pull resistor missing? see `bias`)";
}

}  // namespace

std::string text_of(const config::LineName& line) {
    return line.line + " on " + line.chip;
}

std::string_view text_of(core::Action action) noexcept {
    switch (action) {
    case core::Action::power_off:
        return "power-off";
    case core::Action::reboot:
        return "reboot";
    case core::Action::announce:
        return "announce";
    }
    return "announce";
}

Told rank(const core::Note& note) noexcept {
    const bool moved = note.from != note.to;
    switch (note.why) {
    case Why::near_miss:
        return {Priority::info, Message::near_miss};
    case Why::decided:
    case Why::alarm:
        return {Priority::notice, Message::decided};
    case Why::stage_reached:
    case Why::announced:
    case Why::request_accepted:
        return {Priority::info, Message::plain};
    case Why::countdown_begun:
    case Why::called_off:
        return {Priority::notice, Message::plain};
    case Why::pressed_again:
        return {note.to == core::State::holding ? Priority::info : Priority::debug, Message::plain};
    case Why::stuck:
    case Why::pressed_since_start:
        return {Priority::warning, Message::stuck};
    case Why::unsettled:
    case Why::no_answer:
    case Why::out_of_order:
        return {Priority::warning, Message::plain};
    case Why::line_storm:
        return {Priority::error, Message::line_fault};
    case Why::request_refused:
    case Why::no_post_halt:
        return {Priority::warning, Message::refused};
    case Why::going_down:
    case Why::not_going_down:
        return {moved ? Priority::notice : Priority::debug, Message::going_down};
    case Why::login_manager_gone:
        return {moved ? Priority::warning : Priority::debug, Message::plain};
    case Why::login_manager_back:
        return {moved ? Priority::warning : Priority::debug, Message::refused};
    case Why::voided:
        return {moved ? Priority::info : Priority::debug, Message::plain};
    case Why::press_accepted:
    case Why::release_accepted:
    case Why::glitch:
    case Why::spent:
    case Why::resync:
    case Why::line_gone:  // the adapter's own sentence has been told
    case Why::line_retry:
    case Why::asked:
    case Why::refusal_over:
    case Why::late_edge:
    case Why::contradiction:
    case Why::ignored:
        break;
    }
    return {Priority::debug, Message::plain};
}

std::string tell(const core::Note& note,
                 const config::Settings& settings,
                 const std::string& reason) {
    switch (note.why) {
    case Why::near_miss:
        return near_miss(note, settings);
    case Why::decided:
        return decided(note, settings);
    case Why::stage_reached:
        return reached(note, settings);
    case Why::countdown_begun:
        return "in " + to_text(note.length) + "; a press of at least " +
               to_text(core::limits::call_off_hold) + " calls it off";
    case Why::pressed_again:
        return pressed_again(note);
    case Why::stuck:
        return stuck(note);
    case Why::pressed_since_start:
        return pressed_for_ever(note, settings);
    case Why::unsettled:
        return unsettled(note);
    case Why::line_storm:
        return storm(settings);
    case Why::request_refused:
        return refused(reason);
    case Why::no_post_halt:
        return std::string(core::text_of(note.why)) + (reason.empty() ? "" : ": " + reason);
    case Why::alarm:
        return "alarm " + in_quotes(settings.core.alarms[note.index].name);
    case Why::login_manager_gone:
        return core::text_of(note.why) +
               (note.from == note.to ? "" : " while our request was under way: it may still act");
    case Why::login_manager_back:
        return core::text_of(note.why) +
               (note.from == note.to ? "" : " and is not going down: the request has failed");
    default:  // the core's own sentence says it all
        return core::text_of(note.why);
    }
}

std::string tell(const ports::PostHaltReport& report) {
    std::string text = "post-halt line: " + std::string(core::text_of(report.verdict));
    if (!report.reason.empty()) {
        text += ": " + report.reason;
    }
    return stays_on(report) ? text + "; see `sudo nightlatch audit`" : text;
}

}  // namespace nightlatch::supervisor
