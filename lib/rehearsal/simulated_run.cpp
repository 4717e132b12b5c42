// SPDX-License-Identifier: MIT
#include "rehearsal/simulated_run.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::rehearsal {
namespace {

bool is_of_the_line(const ScriptStep& step) {
    return !std::holds_alternative<LoginAnswers>(step) &&
           !std::holds_alternative<LoginDoes>(step) && !std::holds_alternative<ServiceDoes>(step);
}

}  // namespace

SimulatedRun::SimulatedRun(supervisor::SettingsInForce settings,
                           PressScript script,
                           const Surroundings& surroundings,
                           Hooks hooks)
    : settings_(std::move(settings)), surroundings_(surroundings), hooks_(std::move(hooks)),
      line_(std::move(script),
            surroundings.clock,
            [this](Instant at, const ScriptStep& step) { take(at, step); }),
      power_(surroundings.clock, *this, hooks_.power) {}

void SimulatedRun::start() {
    start_app();
    turn();
}

void SimulatedRun::start_app() {
    supervisor::App::Hooks hooks;
    hooks.noted = hooks_.noted;
    app_ = std::make_unique<supervisor::App>(settings_,
                                             supervisor::App::Ports{line_,
                                                                    *power_in_use_,
                                                                    surroundings_.cues,
                                                                    surroundings_.journal,
                                                                    surroundings_.clock,
                                                                    surroundings_.post_halt},
                                             std::move(hooks));
    if (power_in_use_ == &power_) {
        power_.greet();
    }
    app_->start();
}

void SimulatedRun::turn() {
    if (line_.play()) {
        app_->chips_changed();
    } else {
        app_->wake();
    }
    while (!to_do_.empty()) {
        const ScriptStep step = std::move(to_do_.front());
        to_do_.erase(to_do_.begin());
        perform(step);
    }
    power_.play();
}

Instant SimulatedRun::next_due() const noexcept {
    if (!to_do_.empty()) {
        return surroundings_.clock.now();
    }
    return std::min({line_.next_step(), app_->next_deadline(), power_.next_due()});
}

/// Called as the line plays, which may be in the midst of the App reading it: what touches the App
/// waits for turn().
void SimulatedRun::take(Instant at, const ScriptStep& step) {
    if (hooks_.told) {
        hooks_.told(at, step);
    }
    if (!is_of_the_line(step)) {
        to_do_.push_back(step);
    }
}

void SimulatedRun::perform(const ScriptStep& step) {
    if (const auto* answers = std::get_if<LoginAnswers>(&step)) {
        power_.take(*answers);
    } else if (const auto* login = std::get_if<LoginDoes>(&step)) {
        power_.take(*login);
    } else if (const auto* service = std::get_if<ServiceDoes>(&step)) {
        if (*service == ServiceDoes::reload) {
            app_->reload(settings_);
            return;
        }
        app_->stop();
        if (*service == ServiceDoes::boot) {
            power_.forget();
        }
        start_app();
    }
}

void SimulatedRun::answered(core::AnswerKind kind, const std::string& text) {
    app_->answered(kind, text);
    if (hooks_.changed) {
        hooks_.changed();
    }
}

void SimulatedRun::going_down(bool active, core::GoingDownKind kind) {
    app_->going_down(active, kind);
    if (hooks_.changed) {
        hooks_.changed();
    }
}

void SimulatedRun::login_manager(bool present, bool preparing) {
    app_->login_manager(present, preparing);
    if (hooks_.changed) {
        hooks_.changed();
    }
}

void SimulatedRun::resumed() {
    app_->resumed();
    if (hooks_.changed) {
        hooks_.changed();
    }
}

}  // namespace nightlatch::rehearsal
