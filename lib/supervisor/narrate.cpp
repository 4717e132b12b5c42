// SPDX-License-Identifier: MIT
#include "supervisor/narrate.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "core/limits.hpp"
#include "core/storm.hpp"

#include <concepts>

namespace nightlatch::supervisor {
namespace {

using core::Note;
using core::Why;
using ports::Message;
using ports::Priority;

std::string let_go_again(const Note& note) {
    if (note.to != core::State::holding) {
        return text_of(note.why);
    }
    return "the button line dropped out for " + seconds_text(note.length) +
           " in all during the hold: that counts as letting go, and the hold begins anew";
}

// --- one function an event -----------------------------------------------------------------------

/// What shows them is enough.
template <class What>
concept Wordless = std::same_as<What, Started> || std::same_as<What, Stopping> ||
    std::same_as<What, LineClosing> || std::same_as<What, CueShown>;

template <Wordless What>
std::string words(const What&) {
    return {};
}

std::string words(const Reloaded&) {
    return "the configuration was read again";
}

std::string words(const Suspended&) {
    return "the board was suspended";
}

std::string words(const LineOpened& opened) {
    const ports::LineFacts& facts = opened.facts;
    return "watching line " + std::to_string(facts.offset) +
           (facts.name.empty() ? "" : " " + in_quotes(facts.name, uncut)) + " of " + facts.chip;
}

std::string words(const LineLost& lost) {
    return lost.error.text;
}

std::string words(const EdgesDropped&) {
    return "the kernel dropped edges of the button line: read anew";
}

std::string words(const Noted& noted) {
    const Note& note = noted.note;
    switch (note.why) {
    case Why::countdown_begun:
        return "in " + to_text(note.length) + "; a press of at least 100 ms calls it off";
    case Why::pressed_again:
        return let_go_again(note);
    case Why::stuck:
        return "pressed for " + seconds_text(note.length) +
               ": too long for a press; nothing happens until it is let go (is the button stuck?)";
    case Why::unsettled:
        return "the button line did not settle for " + seconds_text(note.length) +
               ": the press is void (bounce longer than the debounce intervals, or a bad contact)";
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

std::string words(const StageReached& reached) {
    return "held for " + to_text(reached.stage.hold) + ": letting go now means " +
           std::string(text_of(reached.stage.action)) + " (stage " +
           in_quotes(reached.stage.name, uncut) + ")";
}

std::string words(const NearMiss& miss) {
    return "let go after " + seconds_text(miss.note.length) + ": nothing happens (stage " +
           in_quotes(miss.first.name, uncut) + " needs " + to_text(miss.first.hold) + ")";
}

std::string words(const ByPress& press) {
    const bool let_go = press.act_on == core::ActOn::release;
    return std::string(let_go ? "let go after " : "held for ") + seconds_text(press.held) +
           ": stage " + in_quotes(press.stage.name, uncut) + ", " +
           std::string(text_of(press.stage.action));
}

std::string words(const ByAlarm& alarm) {
    return "alarm " + in_quotes(alarm.name, uncut);
}

std::string words(const Decided& decided) {
    return words(decided.cause);
}

std::string words(const AlarmDue& due) {
    return words(due.cause);
}

std::string words(const Answered& answered) {
    if (answered.kind == core::AnswerKind::accepted) {
        return core::text_of(answered.note.why);
    }
    return "the request was refused" + (answered.text.empty() ? "" : ": " + answered.text);
}

std::string words(const PowerOffRefused& refused) {
    return core::text_of(refused.note.why) + (refused.reason.empty() ? "" : ": " + refused.reason);
}

std::string words(const GoingDown& going) {
    return core::text_of(going.note.why);
}

std::string words(const PressedForEver& pressed) {
    return text_of(pressed.where) + " has read pressed for " + seconds_text(pressed.note.length) +
           " and was never seen released; usually the button is stuck, nothing pulls the line to " +
           (pressed.active_low ? "high" : "low") +
           " at rest (see `bias`), `pressed` names the wrong level, or the line is a status line "
           "tapped from a latched node that is active while the supply is on";
}

std::string words(const LineFloats& floats) {
    return text_of(floats.where) + " floats: " + core::storm_text() +
           "; let go of, tried again later (is a pull resistor missing? see `bias`)";
}

std::string words(const Asked& asked) {
    return "asking the system for " + std::string(text_of(asked.action));
}

std::string words(const SupplyStaysOn& stays) {
    return "asking although the supply will stay on: " + stays.reason;
}

std::string words(const Announced& announced) {
    return "announcing " + in_quotes(announced.name, uncut);
}

std::string words(const PostHaltLooked& looked) {
    const ports::PostHaltReport& report = looked.report;
    std::string text = "post-halt line: " + std::string(core::text_of(report.verdict));
    if (!report.reason.empty()) {
        text += ": " + report.reason;
    }
    return stays_on(report) ? text + "; see `sudo nightlatch audit`" : text;
}

// --- how loud ------------------------------------------------------------------------------------

Told loudness(const Note& note) noexcept {
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

template <class What>
concept FromCore = requires(const What& what) {
    { what.note } -> std::convertible_to<Note>;
};

template <FromCore What>
std::optional<Told> loudness(const What& what) noexcept {
    return loudness(what.note);
}

template <Wordless What>
std::optional<Told> loudness(const What&) noexcept {
    return std::nullopt;
}

std::optional<Told> loudness(const Reloaded&) noexcept {
    return Told{Priority::notice, Message::reloaded};
}

std::optional<Told> loudness(const Suspended&) noexcept {
    return Told{Priority::info, Message::plain};
}

std::optional<Told> loudness(const LineOpened& opened) noexcept {
    return Told{opened.after_trouble ? Priority::notice : Priority::info, Message::line_back};
}

std::optional<Told> loudness(const LineLost& lost) noexcept {
    return lost.news ? std::optional(Told{Priority::error, Message::line_fault}) : std::nullopt;
}

std::optional<Told> loudness(const EdgesDropped&) noexcept {
    return Told{Priority::info, Message::plain};
}

std::optional<Told> loudness(const Asked&) noexcept {
    return Told{Priority::notice, Message::asked};
}

std::optional<Told> loudness(const SupplyStaysOn&) noexcept {
    return Told{Priority::warning, Message::post_halt};
}

std::optional<Told> loudness(const Announced&) noexcept {
    return Told{Priority::notice, Message::decided};
}

std::optional<Told> loudness(const PostHaltLooked& looked) noexcept {
    const bool serious = stays_on(looked.report) && looked.policy != core::WithoutPostHalt::allow;
    return Told{serious ? Priority::warning : Priority::info, Message::post_halt};
}

}  // namespace

std::string text_of(const lines::LineName& line) {
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

std::optional<Told> rank(const Event& event) {
    return std::visit([](const auto& what) { return loudness(what); }, event.what);
}

std::string tell(const Event& event) {
    return std::visit([](const auto& what) { return words(what); }, event.what);
}

std::string tell(const Cause& cause) {
    return std::visit([](const auto& what) { return words(what); }, cause);
}

std::vector<ports::Field> fields_of(const Event& event) {
    if (const auto* asked = std::get_if<Asked>(&event.what)) {
        return {{"ACTION", std::string(text_of(asked->action))}};
    }
    if (const auto* announced = std::get_if<Announced>(&event.what)) {
        return {{"STAGE", announced->name}};
    }
    return {};
}

std::string tell(const Standing& standing) {
    return std::string(core::text_of(standing.state)) +
           (standing.watching ? ": watching " : ": no ") + text_of(standing.button) +
           "; post-halt line: " + std::string(core::text_of(standing.post_halt));
}

}  // namespace nightlatch::supervisor
