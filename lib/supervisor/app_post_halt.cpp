// SPDX-License-Identifier: MIT
// When the App looks at the post-halt line, and what it tells of it.
#include "supervisor/app.hpp"
#include "supervisor/narrate.hpp"

#include <utility>

namespace nightlatch::supervisor {

using ports::Message;
using ports::Priority;

void App::look_at_post_halt() {
    ports::PostHaltReport report = ports_.post_halt.look(*settings_);
    core_.feed(core::VerdictKnown{ports_.clock.now(), report.verdict});
    if (report == post_halt_) {
        return;
    }
    post_halt_ = std::move(report);
    const bool serious =
        stays_on(*post_halt_) && settings_->core.without_post_halt != core::WithoutPostHalt::allow;
    ports_.journal.say(
        serious ? Priority::warning : Priority::info, Message::post_halt, tell(*post_halt_));
    if (any_shown_) {
        tell_status();
    }
}

}  // namespace nightlatch::supervisor
