// SPDX-License-Identifier: MIT
#include "daemon/service/commentary.hpp"

#include <array>

#include <unistd.h>

namespace nightlatch::service {
namespace {

using ports::Message;
using ports::Priority;

double seconds_between(Instant from, Instant to) {
    return std::chrono::duration<double>(to - from).count();
}

std::string_view lane_of(Priority priority, Message message) {
    if (message == Message::asked) {
        return "request";
    }
    if (message == Message::decided || message == Message::near_miss) {
        return "decision";
    }
    return priority <= Priority::warning ? "warning" : "";
}

/// Bounces are shown edge by edge, so one letter's width matters: the two words are of like length.
std::string_view text_of_button(Level level) {
    return level == Level::active ? "pressed" : "released";
}

}  // namespace

Commentary::Commentary(std::FILE* out, const ports::Clock& clock)
    : out_(out), clock_(clock), start_(clock.now()), bold_(isatty(fileno(out)) == 1) {}

void Commentary::line(Instant at, std::string_view lane, const std::string& text) {
    std::fprintf(out_,
                 "%9.3f s  %-9.*s %s\n",
                 seconds_between(start_, at),
                 static_cast<int>(lane.size()),
                 lane.data(),
                 text.c_str());
    std::fflush(out_);
}

void Commentary::say(Priority priority,
                     Message message,
                     const std::string& text,
                     std::span<const ports::Field> /*fields*/) {
    if (message == Message::asked) {
        ++requests_;
    }
    if (priority != Priority::debug) {
        line(clock_.now(), lane_of(priority, message), text);
    }
}

void Commentary::show(const core::Cue& cue) {
    std::string text(core::text_of(cue.name));
    if (core::text_of(cue.state) != text) {
        text += " (" + std::string(core::text_of(cue.state)) + ")";
    }
    if (cue.until != never) {
        std::array<char, 32> until{};
        std::snprintf(until.data(), until.size(), "%.3f s", seconds_between(start_, cue.until));
        text += std::string(", until ") + until.data();
    }
    line(clock_.now(), "cue", text);
}

void Commentary::finish(ports::Farewell /*farewell*/) {}

void Commentary::step(Instant at, const config::ScriptStep& step) {
    if (const auto* moves = std::get_if<config::ButtonMoves>(&step)) {
        line(at, "button", std::string(text_of_button(moves->level)));
    } else if (const auto* remark = std::get_if<config::Remark>(&step)) {
        std::fprintf(out_,
                     "\n%s%s%s\n",
                     bold_ ? "\033[1m" : "",
                     remark->text.c_str(),
                     bold_ ? "\033[0m" : "");
        std::fflush(out_);
    } else if (const auto* fault = std::get_if<config::ChipFault>(&step)) {
        line(at, "chip", *fault == config::ChipFault::vanish ? "vanishes" : "comes back");
    } else if (const auto* drop = std::get_if<config::DropEvents>(&step)) {
        line(at, "chip", "loses the next " + std::to_string(drop->count) + " events");
    }
}

}  // namespace nightlatch::service
