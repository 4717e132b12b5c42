// SPDX-License-Identifier: MIT
// When the App looks at the post-halt line, and what it tells of it.
#include "supervisor/app.hpp"

#include <utility>

namespace nightlatch::supervisor {

void App::look_at_post_halt(ports::LookAt what) {
    ports::PostHaltReport report = ports_.post_halt.look(*settings_, what);
    core_.feed(core::VerdictKnown{ports_.clock.now(), report.verdict});
    if (report == post_halt_) {
        return;
    }
    post_halt_ = std::move(report);
    tell(PostHaltLooked{*post_halt_, settings_->core.without_post_halt});
}

}  // namespace nightlatch::supervisor
