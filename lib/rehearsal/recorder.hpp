// SPDX-License-Identifier: MIT
#pragma once

#include "rehearsal/rehearsal.hpp"
#include "rehearsal/simulated_run.hpp"

namespace nightlatch::rehearsal {

/// Keeps what a rehearsed run tells, as lines and as lanes. Its memory for edges is set aside
/// beforehand.
class Recorder final : public RunFollower {
public:
    /// The script begins now. `details`: with what only the trace shows.
    Recorder(const ports::Clock& clock, bool details);

    void expect(const PressScript& script);

    void thresholds(std::vector<wave::Threshold> thresholds) {
        record_.timeline.thresholds = std::move(thresholds);
    }

    /// The lamps and buzzers, before the script begins.
    void outputs(const std::vector<config::Feedback>& feedback);

    void happened(const supervisor::Event& event) override;
    void step(Instant at, const ScriptStep& step) override;
    void login_tells(Instant at, const std::string& text) override;

    void settled(std::optional<Level> level);

    /// All of it, ended now.
    Rehearsal take();

private:
    [[nodiscard]] Duration elapsed() const { return clock_.now() - record_.start; }

    void keep(Duration at, const supervisor::Asked& asked);
    void keep(Duration at, const supervisor::Announced& announced);
    void keep(Duration at, const supervisor::CueShown& shown);
    void keep(Duration at, const supervisor::Stopping& stopping);

    template <class Other>
    void keep(Duration /*at*/, const Other& /*other*/) {}

    void noted(Duration at, const core::Note& note);
    void raw(Duration at, std::optional<Level> level);
    void end_hold(Duration end);
    void show(Duration at, const core::Cue& cue);
    void add(Moment moment);

    const ports::Clock& clock_;
    bool details_;
    Rehearsal record_;
    Level button_ = Level::inactive;
    std::optional<Duration> hold_begin_;
    std::vector<core::Looks> looks_;      // of each output
    std::vector<core::Pattern> showing_;  // what each does now
};

}  // namespace nightlatch::rehearsal
