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

/// What the script has of one alarm: its line is played by itself, so that each stamp is the
/// script's. A move at the very start is how the line is found.
PressScript script_of(const PressScript& script, const std::string& alarm) {
    PressScript own;
    own.end = script.end;
    for (const ScriptEvent& event : script.events) {
        const auto* moves = std::get_if<AlarmMoves>(&event.step);
        if (moves == nullptr || moves->alarm != alarm) {
            continue;
        }
        if (event.at == Duration::zero()) {
            own.level_at_start = moves->level;
        } else {
            own.events.push_back({event.at, ButtonMoves{moves->level}});
        }
    }
    return own;
}

/// The App's way to a line that stays when the App starts again.
class HeldLine final : public ports::ButtonLine {
public:
    explicit HeldLine(ports::ButtonLine& line) : line_(line) {}

    Result<ports::LineFacts> open(const ports::LineRequest& request) override {
        return line_.open(request);
    }

    void close() noexcept override { line_.close(); }

    Result<std::size_t> drain(std::span<ports::LineEvent> into) override {
        return line_.drain(into);
    }

    Result<Level> level() override { return line_.level(); }

private:
    ports::ButtonLine& line_;
};

}  // namespace

SimulatedRun::SimulatedRun(supervisor::SettingsInForce settings,
                           PressScript script,
                           Surroundings surroundings)
    : settings_(std::move(settings)), surroundings_(std::move(surroundings)),
      alarms_(alarm_lines(script)),
      line_(std::move(script),
            surroundings_.clock,
            [this](Instant at, const ScriptStep& step) { take(at, step); }),
      power_(surroundings_.clock, *this, [this](const std::string& text) {
          surroundings_.follower.login_tells(surroundings_.clock.now(), text);
      }) {}

std::vector<std::unique_ptr<SimulatedLine>> SimulatedRun::alarm_lines(
    const PressScript& script) const {
    std::vector<std::unique_ptr<SimulatedLine>> lines;
    for (const core::Alarm& alarm : settings_->core.alarms) {
        lines.push_back(
            std::make_unique<SimulatedLine>(script_of(script, alarm.name),
                                            surroundings_.clock,
                                            std::function<void(Instant, const ScriptStep&)>()));
    }
    return lines;
}

std::unique_ptr<ports::ButtonLine> SimulatedRun::make(core::LineIndex line) {
    return std::make_unique<HeldLine>(*alarms_.at(line - 1));
}

void SimulatedRun::Memory::happened(const supervisor::Event& event) {
    if (const auto* kept = std::get_if<supervisor::AlarmKept>(&event.what)) {
        std::erase_if(known, [&](const auto& each) { return each.name == kept->alarm.name; });
        known.push_back(kept->alarm);
    }
}

void SimulatedRun::start() {
    start_app();
    turn();
}

void SimulatedRun::start_app() {
    std::vector<supervisor::Follower*> followers{&surroundings_.follower, &memory_};
    followers.insert(followers.end(), surroundings_.others.begin(), surroundings_.others.end());
    run_app(std::make_unique<supervisor::App>(
        settings_,
        supervisor::App::Ports{
            line_, *power_in_use_, surroundings_.clock, surroundings_.post_halt, *this},
        std::move(followers),
        memory_.known));
    if (power_in_use_ == &power_) {
        power_.greet();
    }
    app().start();
}

void SimulatedRun::turn() {
    for (const auto& alarm : alarms_) {
        alarm->play();
    }
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
    Instant next = std::min({line_.next_step(), app().next_deadline(), power_.next_due()});
    for (const auto& alarm : alarms_) {
        next = std::min(next, alarm->next_step());
    }
    return next;
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
            memory_.known.clear();
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
