// SPDX-License-Identifier: MIT
#include "daemon/tool/follow/teller.hpp"

#include "daemon/tool/client/state_json.hpp"
#include "daemon/tool/client/words.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"

#include <cstdio>

#include <unistd.h>

namespace nightlatch::tool {
namespace {

using namespace std::chrono_literals;

/// A tenth of a second is what the words count in.
constexpr Duration tick = 100ms;

// The other screen without its cursor, and back [xterm control sequences, DEC private modes 1049
// and 25].
constexpr const char* enter_screen = "\x1b[?1049h\x1b[?25l";
constexpr const char* leave_screen = "\x1b[?25h\x1b[?1049l";
constexpr const char* clear_line = "\r\x1b[K";

/// What a person does not see is not a change to them.
bool looks_same(const std::optional<ServiceState>& last, const ServiceState& state) {
    return last && same_cue(*last, state) && last->stages == state.stages && last->dry == state.dry;
}

}  // namespace

void JsonTeller::shown(const ServiceState& state) {
    say(stdout, follow_line(state, loop_.now()));
}

void JsonTeller::announced(const std::string& name) {
    say(stdout, follow_line(name, loop_.now()));
}

void JsonTeller::absent(Absent why, const std::string& /*detail*/) {
    say(stdout, follow_line(why, loop_.now()));
}

void PlainTeller::shown(const ServiceState& state) {
    if (!looks_same(last_, state)) {
        say(stdout, plain_line(sight_of(state, loop_.now())) + "\n");
    }
    last_ = state;
}

void PlainTeller::announced(const std::string& name) {
    say(stdout, announced_words(name) + "\n");
}

void PlainTeller::absent(Absent why, const std::string& detail) {
    last_.reset();
    say(stdout, plain_line(sight_of(why, detail)) + "\n");
}

ScreenTeller::ScreenTeller(sys::EventLoop& loop, bool whole)
    : loop_(loop), whole_(whole), tick_(loop.timer([this] { draw(); })) {
    if (whole_) {
        say(stdout, enter_screen);
    }
}

ScreenTeller::~ScreenTeller() {
    say(stdout, whole_ ? leave_screen : "\n");
}

void ScreenTeller::shown(const ServiceState& state) {
    state_ = state;
    draw();
}

void ScreenTeller::announced(const std::string& name) {
    if (whole_) {
        show({"announced", announced_words(name), 0, false});
        tick_.arm(loop_.now() + 2s);  // long enough to be read
        return;
    }
    say(stdout, clear_line + announced_words(name) + "\n");
    draw();
}

void ScreenTeller::absent(Absent why, const std::string& detail) {
    state_.reset();
    absent_ = sight_of(why, detail);
    draw();
}

void ScreenTeller::draw() {
    const Instant now = loop_.now();
    const Sight sight = state_ ? sight_of(*state_, now) : absent_;
    show(sight);
    tick_.arm(sight.moving ? now + tick : never);
}

void ScreenTeller::show(const Sight& sight) {
    const TerminalSize size = size_of(STDOUT_FILENO);
    const page::Style style = style_of_output();
    say(stdout,
        whole_ ? full_screen(sight, style, size)
               : clear_line + live_line(sight, style, size.columns - 1));
}

void HookTeller::shown(const ServiceState& state) {
    if (!last_ || !same_cue(*last_, state)) {
        hook_.run_for(cue_call(state, loop_.now()));
    }
    last_ = state;
}

void HookTeller::announced(const std::string& name) {
    hook_.run_for(announced_call(name, loop_.now()));
}

void HookTeller::absent(Absent why, const std::string& detail) {
    last_.reset();
    tell("nightlatch: " + absent_words(why, detail) + "; waiting for it");
}

}  // namespace nightlatch::tool
