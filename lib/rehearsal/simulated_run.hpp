// SPDX-License-Identifier: MIT
#pragma once

#include "rehearsal/simulated_line.hpp"
#include "rehearsal/simulated_power.hpp"
#include "supervisor/ports/more_lines.hpp"
#include "supervisor/shell.hpp"

#include <functional>
#include <memory>
#include <vector>

namespace nightlatch::rehearsal {

/// Whoever wants to know what happens in a run: the App's events, and what is made happen to it.
struct RunFollower : supervisor::Follower {
    /// Each step as it happens.
    virtual void step(Instant at, const ScriptStep& step) = 0;
    /// What the simulated login manager has to say of itself.
    virtual void login_tells(Instant at, const std::string& text) = 0;
};

/// The App on a simulated line, with whatever else a press script makes happen: the same in real
/// time (`nightlatchd --simulated`) and in virtual time (a rehearsal). Whoever has a clock calls
/// turn() when next_due() has come.
class SimulatedRun final : public supervisor::Shell, ports::MoreLines {
public:
    struct Surroundings {
        const ports::Clock& clock;
        ports::PostHaltCheck& post_halt;
        RunFollower& follower;
        std::function<void()> changed;  ///< next_due() moved outside turn(); may be empty
        std::vector<supervisor::Follower*> others{};  ///< told after the follower
    };

    SimulatedRun(supervisor::SettingsInForce settings,
                 PressScript script,
                 Surroundings surroundings);

    /// Asks that one instead of the simulated login manager; before start().
    void ask_instead(ports::Power& power) noexcept { power_in_use_ = &power; }

    void start();
    /// Plays what is due, and wakes the App.
    void turn();

    void stop() { app().stop(); }

    using Shell::call_off;

    [[nodiscard]] Instant next_due() const noexcept;

    /// The script has nothing more to play.
    [[nodiscard]] bool played() const noexcept { return line_.next_step() == never; }

    /// The button as debounced; nothing while it is not known.
    [[nodiscard]] std::optional<Level> settled() const noexcept { return app().settled(); }

    [[nodiscard]] SimulatedLine& line() noexcept { return line_; }

private:
    void arm() override;
    void take(Instant at, const ScriptStep& step);
    void perform(const ScriptStep& step);
    void start_app();
    std::unique_ptr<ports::ButtonLine> make(core::LineIndex line) override;
    [[nodiscard]] std::vector<std::unique_ptr<SimulatedLine>> alarm_lines(
        const PressScript& script) const;

    /// What is remembered of the alarms until the board is switched off.
    struct Memory final : supervisor::Follower {
        std::vector<core::KnownAlarm> known;

        void happened(const supervisor::Event& event) override;
    };

    supervisor::SettingsInForce settings_;
    Surroundings surroundings_;
    std::vector<std::unique_ptr<SimulatedLine>> alarms_;  ///< by the settings' index
    SimulatedLine line_;
    Memory memory_;
    SimulatedPower power_;
    ports::Power* power_in_use_ = &power_;
    std::vector<ScriptStep> to_do_;  ///< steps that are not the line's, played in its midst
};

}  // namespace nightlatch::rehearsal
