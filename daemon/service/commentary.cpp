// SPDX-License-Identifier: MIT
#include "daemon/service/commentary.hpp"

#include "base/text.hpp"
#include "page/page.hpp"

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

void Commentary::happened(const supervisor::Event& event) {
    if (std::holds_alternative<supervisor::Asked>(event.what)) {
        ++requests_;
    }
    if (const auto moment = rehearsal::moment_of(event, start_)) {
        line(*moment);
    }
}

void Commentary::say(Priority priority,
                     Message message,
                     const std::string& text,
                     std::span<const ports::Field> /*fields*/) {
    if (wants(priority)) {
        line({clock_.now() - start_, rehearsal::whose_of(priority, message), text});
    }
}

void Commentary::login_tells(Instant at, const std::string& text) {
    line({at - start_, rehearsal::Whose::login, text});
}

void Commentary::step(Instant at, const rehearsal::ScriptStep& step) {
    const rehearsal::Moment moment = rehearsal::moment_of(at - start_, step);
    if (moment.whose != rehearsal::Whose::remark) {
        line(moment);
        return;
    }
    const page::Style style{.colour = bold_};
    std::fprintf(out_, "\n%s\n", page::painted(style, moment.text, page::Paint::bold).c_str());
    std::fflush(out_);
}

void Commentary::over(AskedOf whom) {
    const bool dry = whom == AskedOf::nobody && requests_ > 0;
    std::fprintf(out_,
                 "\nThe run is over: %s%s.\n",
                 counted(static_cast<std::uint64_t>(requests_), "request").c_str(),
                 whom == AskedOf::script ? ", of the script's login manager only"
                 : dry                   ? ", dry: nothing was asked of this machine"
                                         : "");
}

}  // namespace nightlatch::service
