// SPDX-License-Identifier: MIT
#include "supervisor/narrate.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "core/limits.hpp"

#include <concepts>

namespace nightlatch::supervisor {
namespace {

using core::Note;
using core::Why;
using ports::Message;
using ports::Priority;
namespace limits = core::limits;

Duration in_seconds(Duration length) {
    return std::chrono::round<std::chrono::seconds>(length);
}

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
    std::same_as<What, LineClosing> || std::same_as<What, CueShown> ||
    std::same_as<What, CallOffAnswered> || std::same_as<What, AlarmKept>;

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

std::string words(const EdgesDropped& dropped) {
    return "the kernel dropped edges of " + text_of(dropped.where) + ": read anew";
}

std::string words(const Noted& noted) {
    const Note& note = noted.note;
    switch (note.why) {
    case Why::countdown_begun:
        return "in " + to_text(note.length) + "; another press calls it off, if it lasts " +
               to_text(limits::call_off_hold) + " and is still down " +
               to_text(limits::call_off_pause) + " after the release";
    case Why::pressed_again:
        return let_go_again(note);
    case Why::stuck:
        return "pressed for " + seconds_text(note.length) + ": too long for a press; " +
               (note.to == core::State::leaving ? "the shutdown does not wait for it"
                                                : "nothing happens until it is let go") +
               " (is the button stuck?)";
    case Why::login_manager_gone:
        return core::text_of(note.why) +
               (note.from == note.to ? "" : " while our request was under way: it may still act");
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
    const bool again = due.note.why == Why::alarm_again;
    return words(due.cause) + (again ? " asks again" : "");
}

std::string words(const AlarmTold& told) {
    const std::string alarm = "alarm " + in_quotes(told.name, uncut);
    switch (told.note.why) {
    case Why::alarm_ignored:
        return alarm + ": its level was there at the start, and is ignored until it has been over "
                       "(at_start = \"ignore\")";
    case Why::alarm_pending:
        return alarm + " is due, and waits for what is under way";
    default:
        return alarm + " is over";
    }
}

std::string words(const Answered& answered) {
    return core::text_of(answered.note.why) + (answered.text.empty() ? "" : ": " + answered.text);
}

std::string words(const PowerOffRefused& refused) {
    return core::text_of(refused.note.why) + (refused.reason.empty() ? "" : ": " + refused.reason);
}

std::string words(const GoingDown& going) {
    return core::text_of(going.note.why) +
           (going.failure.empty() ? "" : "; the request had failed: " + going.failure);
}

std::string words(const PressedForEver& pressed) {
    return text_of(pressed.where) + " has read pressed for " + seconds_text(pressed.note.length) +
           " and was never seen released; usually the button is stuck, nothing pulls the line to " +
           (pressed.active_low ? "high" : "low") +
           " at rest (see `bias`), `pressed` names the wrong level, or the line is a status line "
           "tapped from a latched node that is active while the supply is on";
}

std::string words(const LineUnreadable& line) {
    return text_of(line.where) + " cannot be read: " + counted(line.note.index, "edge") +
           " in a second, and neither level lasts; released, and tried again at growing intervals "
           "(usually no resistor pulls it, see `bias`, or its cable runs beside a motor or "
           "radio)";
}

std::string words(const LineReadable& line) {
    return text_of(line.where) + " can be read again: for " + to_text(limits::trial) +
           " now, after " + to_text(in_seconds(line.note.length)) + " in which it could not";
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

// One table, a line or two a reason. NOLINTNEXTLINE(readability-function-size)
Told loudness(const Note& note) noexcept {
    const bool moved = note.from != note.to;
    switch (note.why) {
    case Why::near_miss:
        return {Priority::info, Message::near_miss};
    case Why::decided:
    case Why::alarm:
    case Why::alarm_again:
        return {Priority::notice, Message::decided};
    case Why::alarm_over:
    case Why::alarm_ignored:
    case Why::alarm_pending:
        return {Priority::notice, Message::plain};
    case Why::stage_reached:
    case Why::announced:
    case Why::request_accepted:
    case Why::answered_late:
        return {Priority::info, Message::plain};
    case Why::countdown_begun:
    case Why::called_off:
        return {Priority::notice, Message::plain};
    case Why::pressed_again:
        return {note.to == core::State::holding ? Priority::info : Priority::debug, Message::plain};
    case Why::stuck:
    case Why::pressed_since_start:
        return {Priority::warning, Message::stuck};
    case Why::no_answer:
    case Why::out_of_order:
        return {Priority::warning, Message::plain};
    case Why::line_unreadable:
        return {Priority::error, Message::line_fault};
    case Why::line_readable:
        return {Priority::notice, Message::line_readable};
    case Why::not_sent:
    case Why::given_up:
    case Why::nothing_came:
    case Why::request_refused:
    case Why::request_failed:
    case Why::no_post_halt:
        return {Priority::warning, Message::refused};
    case Why::going_down:
        return {moved ? Priority::notice : Priority::debug, Message::going_down};
    case Why::not_going_down:
    case Why::not_preparing:
        if (note.to == core::State::refused) {
            return {Priority::warning, Message::refused};
        }
        return {moved ? Priority::notice : Priority::debug, Message::going_down};
    case Why::preparing_unknown:
        return {moved ? Priority::warning : Priority::debug, Message::going_down};
    case Why::dry_leaving:
    case Why::dry_over:
    case Why::called_off_from_outside:
        return {Priority::notice, Message::plain};
    case Why::login_manager_gone:
        return {moved ? Priority::warning : Priority::debug, Message::plain};
    case Why::voided:
        return {moved ? Priority::info : Priority::debug, Message::plain};
    case Why::press_accepted:
    case Why::release_accepted:
    case Why::glitch:
    case Why::spent:
    case Why::resync:
    case Why::line_gone:  // the adapter's own sentence has been told
    case Why::line_retry:
    case Why::line_unreadable_still:
    case Why::asked:
    case Why::request_sent:
    case Why::nothing_to_call_off:
    case Why::login_manager_back:
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
    if (opened.after_trouble) {
        return Told{Priority::notice, Message::line_back};
    }
    if (opened.on_trial) {  // told when it is over
        return std::nullopt;
    }
    return Told{Priority::info, Message::started};
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
           "; post-halt line: " + std::string(core::text_of(standing.post_halt)) +
           (standing.bad_file.empty()
                ? ""
                : "; the configuration on disk cannot be used: " + standing.bad_file);
}

}  // namespace nightlatch::supervisor
