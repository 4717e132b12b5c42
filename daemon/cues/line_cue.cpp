// SPDX-License-Identifier: MIT
#include "daemon/cues/line_cue.hpp"

#include <utility>
#include <variant>

namespace nightlatch::cues {

LineCue::LineCue(sys::EventLoop& loop,
                 ports::Journal& journal,
                 DrivenLine line,
                 LineSettings settings)
    : loop_(loop), journal_(journal), line_(std::move(line)), settings_(std::move(settings)),
      timer_(loop.timer([this] { update(); })), tries_(settings_.patience) {}

void LineCue::show(const core::Cue& cue) {
    const core::Pattern& pattern = core::look_of(settings_.looks, cue);
    if (open_ && !tries_.failing() && core::goes_on(pattern_, pattern)) {
        return;
    }
    const Instant now = loop_.now();
    pattern_ = pattern;
    since_.reset();
    if (const Instant allowed = tries_.allowed(now); allowed > now) {
        timer_.arm(allowed);
        return;
    }
    update();
}

void LineCue::update() {
    const Instant now = loop_.now();
    const Instant since = since_.value_or(now);
    const core::PatternStep step = core::step_of(pattern_, since, now);
    if (const Outcome outcome = drive(step.level); !outcome) {
        failed(outcome.error(), now);
        return;
    }
    since_ = since;
    timer_.arm(step.until);
    if (tries_.succeeded()) {
        journal_.say(ports::Priority::info,
                     ports::Message::cue_trouble,
                     "cue line " + settings_.name + " can be driven again");
    }
}

Outcome LineCue::drive(Level level) {
    if (!open_) {
        if (Outcome opened = line_.open(); !opened) {
            return opened;
        }
        open_ = true;
    }
    return line_.set(level);
}

void LineCue::failed(const Error& error, Instant now) {
    if (open_) {
        line_.close();
        open_ = false;
    }
    const Tries::Next next = tries_.failed(now);
    timer_.arm(next.at);
    if (next.tell) {
        journal_.say(ports::Priority::warning,
                     ports::Message::cue_trouble,
                     "cue line " + settings_.name + ": " + error.text);
    }
}

void LineCue::finish(Farewell farewell) {
    timer_.disarm();
    if (!open_) {
        return;
    }
    const bool steady =
        pattern_.kind == core::PatternKind::on || pattern_.kind == core::PatternKind::off;
    if (farewell != Farewell::shutdown || !steady) {
        static_cast<void>(line_.set(Level::inactive));
    }
}

}  // namespace nightlatch::cues
