// SPDX-License-Identifier: MIT
// When the App looks at the post-halt line, and what it tells of it.
#include "supervisor/app.hpp"
#include "supervisor/narrate.hpp"

#include <utility>

namespace nightlatch::supervisor {

using ports::Message;
using ports::Priority;

/// In the last state before a decision, and after the person has been shown it: a look takes a
/// while. The stamps of what comes meanwhile are the kernel's, so nothing is missed or misjudged.
void App::look_before_deciding(const core::Cue& cue) {
    const core::Settings& core = settings_.core;
    if (core.without_post_halt == core::WithoutPostHalt::allow) {
        return;
    }
    const bool at_threshold = core.act_on == core::ActOn::threshold;
    const std::uint32_t stage = at_threshold ? 0 : cue.stage;
    const bool last = cue.state == (at_threshold ? core::State::holding : core::State::ready);
    if (last && core.stages[stage].action == core::Action::power_off) {
        look_at_post_halt();
    }
}

void App::look_at_post_halt() {
    ports::PostHaltReport report = ports_.post_halt.look(settings_);
    core_.feed(core::VerdictKnown{ports_.clock.now(), report.verdict});
    if (report == post_halt_) {
        return;
    }
    post_halt_ = std::move(report);
    const bool serious =
        stays_on(*post_halt_) && settings_.core.without_post_halt != core::WithoutPostHalt::allow;
    ports_.journal.say(
        serious ? Priority::warning : Priority::info, Message::post_halt, tell(*post_halt_));
    if (any_shown_) {
        tell_status();
    }
}

}  // namespace nightlatch::supervisor
