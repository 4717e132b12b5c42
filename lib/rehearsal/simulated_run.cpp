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
                           Surroundings surroundings)
    : settings_(std::move(settings)), surroundings_(std::move(surroundings)),
      line_(std::move(script),
            surroundings_.clock,
            [this](Instant at, const ScriptStep& step) { take(at, step); }),
      power_(surroundings_.clock, *this, [this](const std::string& text) {
          surroundings_.follower.login_tells(surroundings_.clock.now(), text);
      }) {}

void SimulatedRun::start() {
    start_app();
    turn();
}

void SimulatedRun::start_app() {
    run_app(std::make_unique<supervisor::App>(
        settings_,
        supervisor::App::Ports{line_, *power_in_use_, surroundings_.clock, surroundings_.post_halt},
        std::vector<supervisor::Follower*>{&surroundings_.follower}));
    if (power_in_use_ == &power_) {
        power_.greet();
    }
    app().start();
}

void SimulatedRun::turn() {
    if (line_.play()) {
        app().chips_changed();
    } else {
        app().wake();
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
    return std::min({line_.next_step(), app().next_deadline(), power_.next_due()});
}

/// Called as the line plays, which may be in the midst of the App reading it: what touches the App
/// waits for turn().
void SimulatedRun::take(Instant at, const ScriptStep& step) {
    surroundings_.follower.step(at, step);
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
            app().reload(settings_);
            return;
        }
        app().stop();
        if (*service == ServiceDoes::boot) {
            power_.forget();
        }
        start_app();
    }
}

void SimulatedRun::arm() {
    if (surroundings_.changed) {
        surroundings_.changed();
    }
}

}  // namespace nightlatch::rehearsal
