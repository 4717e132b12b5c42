// SPDX-License-Identifier: MIT
#include "rehearsal/moment.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "supervisor/narrate.hpp"

#include <array>
#include <cstdio>
#include <variant>

namespace nightlatch::rehearsal {
namespace {

using ports::Message;
using ports::Priority;

double in_seconds(Duration duration) {
    return std::chrono::duration<double>(duration).count();
}

Moment told(Duration at, const ButtonMoves& moves) {
    return {at, Whose::button, moves.level == Level::active ? "pressed" : "released"};
}

Moment told(Duration at, const AlarmMoves& moves) {
    return {at,
            Whose::chip,
            "alarm " + in_quotes(moves.alarm, uncut) +
                (moves.level == Level::active ? ": its level is there" : ": its level is gone")};
}

Moment told(Duration at, const Remark& remark) {
    return {at, Whose::remark, remark.text};
}

Moment told(Duration at, const ChipFault& fault) {
    return {at, Whose::chip, fault == ChipFault::vanish ? "vanishes" : "comes back"};
}

Moment told(Duration at, const DropEvents& drop) {
    return {at,
            Whose::chip,
            drop.count == 1 ? "loses the next event"
                            : "loses the next " + std::to_string(drop.count) + " events"};
}

Moment told(Duration at, const LoginAnswers& answers) {
    const std::string after = to_text(answers.after);
    switch (answers.word) {
    case AnswerWord::accept:
        return {at, Whose::login, "will accept, after " + after};
    case AnswerWord::refuse:
        return {at, Whose::login, "will refuse, after " + after};
    case AnswerWord::none:
        break;
    }
    return {at, Whose::login, "will not answer"};
}

Moment told(Duration at, const LoginDoes& does) {
    switch (does) {
    case LoginDoes::vanish:
        return {at, Whose::login, "vanishes"};
    case LoginDoes::comes_back:
        return {at, Whose::login, "comes back"};
    case LoginDoes::power_off:
        return {at, Whose::login, "somebody else asks for power-off"};
    case LoginDoes::reboot:
        return {at, Whose::login, "somebody else asks for reboot"};
    case LoginDoes::call_off:
        break;
    }
    return {at, Whose::login, "gives the shutdown up"};
}

Moment told(Duration at, const ServiceDoes& does) {
    switch (does) {
    case ServiceDoes::restart:
        return {at, Whose::service, "starts again"};
    case ServiceDoes::reload:
        return {at, Whose::service, "reads its configuration again"};
    case ServiceDoes::boot:
        break;
    }
    return {at, Whose::service, "the board is switched on"};
}

}  // namespace

std::string_view text_of(Whose whose) noexcept {
    switch (whose) {
    case Whose::button:
        return "button";
    case Whose::chip:
        return "chip";
    case Whose::cue:
        return "cue";
    case Whose::decision:
        return "decision";
    case Whose::request:
        return "request";
    case Whose::login:
        return "login";
    case Whose::service:
        return "service";
    case Whose::warning:
        return "warning";
    case Whose::info:
    case Whose::detail:
    case Whose::remark:
        break;
    }
    return "";
}

Whose whose_of(Priority priority, Message message) noexcept {
    if (message == Message::asked) {
        return Whose::request;
    }
    if (message == Message::decided || message == Message::near_miss) {
        return Whose::decision;
    }
    if (priority == Priority::debug) {
        return Whose::detail;
    }
    return priority <= Priority::warning ? Whose::warning : Whose::info;
}

std::string cue_text(const core::Cue& cue, Instant start) {
    std::string text(core::text_of(cue.name));
    if (core::text_of(cue.state) != text) {
        text += " (" + std::string(core::text_of(cue.state)) + ")";
    }
    if (cue.until != never) {
        std::array<char, 40> until{};
        std::snprintf(until.data(), until.size(), ", until %.3f s", in_seconds(cue.until - start));
        text += until.data();
    }
    return text;
}

std::string line_of(const Moment& moment) {
    const std::string_view word = text_of(moment.whose);
    std::array<char, 48> before{};
    std::snprintf(before.data(),
                  before.size(),
                  "%9.3f s  %-9.*s ",
                  in_seconds(moment.at),
                  static_cast<int>(word.size()),
                  word.data());
    return before.data() + safe(moment.text);
}

Moment moment_of(Duration at, const ScriptStep& step) {
    return std::visit([at](const auto& what) { return told(at, what); }, step);
}

std::optional<Moment> moment_of(const supervisor::Event& event, Instant start, bool details) {
    const Duration at = event.at - start;
    if (const auto* shown = std::get_if<supervisor::CueShown>(&event.what)) {
        return Moment{at, Whose::cue, cue_text(shown->cue, start)};
    }
    const bool step_tells = std::holds_alternative<supervisor::Reloaded>(event.what);
    const auto told = supervisor::rank(event);
    if (!told || step_tells || (told->priority == Priority::debug && !details)) {
        return std::nullopt;
    }
    return Moment{at, whose_of(told->priority, told->message), supervisor::tell(event)};
}

std::string short_moment(Duration at) {
    std::array<char, 40> text{};
    std::snprintf(text.data(), text.size(), "%.3f s", std::chrono::duration<double>(at).count());
    return text.data();
}

std::string moment_text(Duration at) {
    const std::string text = short_moment(at);
    constexpr std::size_t width = 11;
    return text.size() < width ? std::string(width - text.size(), ' ') + text : text;
}

}  // namespace nightlatch::rehearsal
