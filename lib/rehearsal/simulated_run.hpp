// SPDX-License-Identifier: MIT
#pragma once

#include "rehearsal/simulated_line.hpp"
#include "rehearsal/simulated_power.hpp"
#include "supervisor/app.hpp"

#include <memory>
#include <vector>

namespace nightlatch::rehearsal {

/// The App on a simulated line, with whatever else a press script makes happen: the same in real
/// time (`nightlatchd --simulated`) and in virtual time (a rehearsal). Whoever has a clock calls
/// turn() when next_due() has come.
class SimulatedRun final : public ports::PowerListener {
public:
    struct Surroundings {
        const ports::Clock& clock;
        ports::Journal& journal;
        ports::CueOutput& cues;
        ports::PostHaltCheck& post_halt;
    };

    struct Hooks {
        std::function<void(Instant, const ScriptStep&)> told;  ///< each step as it happens
        std::function<void(const core::Note&)> noted;
        SimulatedPower::Hooks power;
        std::function<void()> changed;  ///< something came from the login manager: next_due() moved
    };

    SimulatedRun(supervisor::SettingsInForce settings,
                 PressScript script,
                 const Surroundings& surroundings,
                 Hooks hooks);

    /// Asks that one instead of the simulated login manager; before start().
    void ask_instead(ports::Power& power) noexcept { power_in_use_ = &power; }

    void start();
    /// Plays what is due, and wakes the App.
    void turn();

    void stop() { app_->stop(); }

    [[nodiscard]] Instant next_due() const noexcept;

    /// The script has nothing more to play.
    [[nodiscard]] bool played() const noexcept { return line_.next_step() == never; }

    [[nodiscard]] const supervisor::App& app() const noexcept { return *app_; }

    [[nodiscard]] SimulatedLine& line() noexcept { return line_; }

    void answered(core::AnswerKind kind, const std::string& text) override;
    void going_down(bool active, core::GoingDownKind kind) override;
    void login_manager(bool present, bool preparing) override;
    void resumed() override;

private:
    void take(Instant at, const ScriptStep& step);
    void perform(const ScriptStep& step);
    void start_app();

    supervisor::SettingsInForce settings_;
    Surroundings surroundings_;
    Hooks hooks_;
    SimulatedLine line_;
    SimulatedPower power_;
    ports::Power* power_in_use_ = &power_;
    std::unique_ptr<supervisor::App> app_;
    std::vector<ScriptStep> to_do_;  ///< steps that are not the line's, played in its midst
};

}  // namespace nightlatch::rehearsal
