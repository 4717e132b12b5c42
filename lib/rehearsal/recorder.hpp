// SPDX-License-Identifier: MIT
#pragma once

#include "core/trace.hpp"
#include "rehearsal/rehearsal.hpp"
#include "supervisor/ports/clock.hpp"
#include "supervisor/ports/cue_output.hpp"
#include "supervisor/ports/journal.hpp"

namespace nightlatch::rehearsal {

/// Stands in for the journal and the lamps of a rehearsal and keeps what they are told. Its memory
/// for edges is set aside beforehand.
class Recorder final : public ports::Journal, public ports::CueOutput {
public:
    /// The script begins now. `details`: with what only the trace shows.
    Recorder(const ports::Clock& clock, bool details);

    void expect(const PressScript& script);

    void thresholds(std::vector<wave::Threshold> thresholds) {
        record_.timeline.thresholds = std::move(thresholds);
    }

    [[nodiscard]] bool wants(ports::Priority priority) const noexcept override {
        return details_ || priority != ports::Priority::debug;
    }

    using ports::Journal::say;
    void say(ports::Priority priority,
             ports::Message message,
             const std::string& text,
             std::span<const ports::Field> fields) override;

    void show(const core::Cue& cue) override;
    void finish(ports::Farewell farewell) override;

    void step(Instant at, const ScriptStep& step);
    void noted(const core::Note& note);
    void asked(core::Action action, core::Inhibitors inhibitors);
    void login_tells(const std::string& text);
    void settled(std::optional<Level> level);

    /// All of it, ended now.
    Rehearsal take();

private:
    [[nodiscard]] Duration elapsed() const { return clock_.now() - record_.start; }

    void raw(Duration at, std::optional<Level> level);
    void end_hold(Duration end);
    void add(Moment moment);

    const ports::Clock& clock_;
    bool details_;
    Rehearsal record_;
    Level button_ = Level::inactive;
    std::optional<Duration> hold_begin_;
    std::string decision_;  ///< told last
};

}  // namespace nightlatch::rehearsal
