// SPDX-License-Identifier: MIT
#include "daemon/service/commentary.hpp"

#include "rehearsal/moment.hpp"

#include <unistd.h>

namespace nightlatch::service {

using ports::Message;
using ports::Priority;

Commentary::Commentary(std::FILE* out, const ports::Clock& clock)
    : out_(out), clock_(clock), start_(clock.now()), bold_(isatty(fileno(out)) == 1) {}

void Commentary::line(const rehearsal::Moment& moment) {
    std::fprintf(out_, "%s\n", rehearsal::line_of(moment).c_str());
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
        line({clock_.now() - start_, rehearsal::lane_of(priority, message), text});
    }
}

void Commentary::show(const core::Cue& cue) {
    line({clock_.now() - start_, rehearsal::Lane::cue, rehearsal::cue_text(cue, start_)});
}

void Commentary::finish(ports::Farewell /*farewell*/) {}

void Commentary::step(Instant at, const rehearsal::ScriptStep& step) {
    const rehearsal::Moment moment = rehearsal::moment_of(at - start_, step);
    if (moment.lane != rehearsal::Lane::remark) {
        line(moment);
        return;
    }
    std::fprintf(
        out_, "\n%s%s%s\n", bold_ ? "\033[1m" : "", moment.text.c_str(), bold_ ? "\033[0m" : "");
    std::fflush(out_);
}

}  // namespace nightlatch::service
