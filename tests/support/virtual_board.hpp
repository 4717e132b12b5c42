// SPDX-License-Identifier: MIT
#pragma once

#include "rehearsal/press_script.hpp"
#include "rehearsal/simulated_line.hpp"
#include "supervisor/app.hpp"
#include "supervisor/journal_follower.hpp"
#include "supervisor/ports/clock.hpp"
#include "supervisor/ports/journal.hpp"
#include "supervisor/ports/post_halt_check.hpp"
#include "supervisor/ports/power.hpp"
#include "support/faulty_line.hpp"

#include <algorithm>
#include <memory>
#include <string>
#include <vector>

namespace nightlatch::testing {

using namespace std::chrono_literals;

/// A clock that only moves when told.
struct VirtualClock final : ports::Clock {
    Instant time{1000s};
    Duration asleep{};

    [[nodiscard]] Instant now() const override { return time; }

    [[nodiscard]] Duration suspended() const override { return asleep; }
};

struct RecordingPower final : ports::Power {
    std::vector<core::Action> asked;
    std::vector<core::Inhibitors> inhibitors;
    bool delay_held = false;

    void ask(core::Action action, core::Inhibitors policy) override {
        asked.push_back(action);
        inhibitors.push_back(policy);
    }

    void hold_delay(bool hold) override { delay_held = hold; }
};

struct RecordingCues final : supervisor::Follower {
    std::vector<core::CueName> shown;
    std::vector<supervisor::Stopping> ends;

    void happened(const supervisor::Event& event) override {
        if (const auto* one = std::get_if<supervisor::CueShown>(&event.what)) {
            shown.push_back(one->cue.name);
        } else if (const auto* end = std::get_if<supervisor::Stopping>(&event.what)) {
            ends.push_back(*end);
        }
    }
};

struct RecordingJournal final : ports::Journal {
    std::vector<std::string> lines;

    [[nodiscard]] bool wants(ports::Priority priority) const noexcept override {
        return priority != ports::Priority::debug;
    }

    using ports::Journal::say;

    void say(ports::Priority,
             ports::Message,
             const std::string& text,
             std::span<const ports::Field>) override {
        lines.push_back(text);
    }

    [[nodiscard]] bool has(const std::string& part) const { return count(part) > 0; }

    [[nodiscard]] std::size_t count(const std::string& part) const {
        return static_cast<std::size_t>(
            std::count_if(lines.begin(), lines.end(), [&](const std::string& line) {
                return line.find(part) != std::string::npos;
            }));
    }
};

/// Answers what it was told to, and counts how often it was asked.
struct ToldPostHalt final : ports::PostHaltCheck {
    ports::PostHaltReport report;
    int looks = 0;

    ports::PostHaltReport look(const config::Settings&) override {
        ++looks;
        return report;
    }
};

inline config::Settings pontoon_settings() {
    config::Settings settings;
    settings.button.where = {"soc-gpio", "FRONT_BUTTON"};
    settings.core.stages = {{"off", 3s, core::Action::power_off}};
    return settings;
}

inline rehearsal::ScriptEvent moves(Duration at, Level level) {
    return {at, rehearsal::ButtonMoves{level}};
}

struct BoardExtras {
    std::vector<supervisor::Follower*> followers{};  ///< told after the board's own
    bool chip_sleeps = false;
};

/// The real App on a simulated chip in virtual time. Hours pass in milliseconds.
class VirtualBoard {
public:
    VirtualBoard(config::Settings settings,
                 std::vector<rehearsal::ScriptEvent> events,
                 Level at_start,
                 BoardExtras extras = {})
        : line(rehearsal::PressScript{at_start, std::move(events), 0s}, clock, {}),
          wired(line, clock, extras.chip_sleeps),
          app(std::make_shared<const config::Settings>(std::move(settings)),
              {wired, power, clock, post_halt},
              followers(std::move(extras.followers))) {
        app.start();
    }

    explicit VirtualBoard(std::vector<rehearsal::ScriptEvent> events)
        : VirtualBoard(pontoon_settings(), std::move(events), Level::inactive) {}

    /// Runs until `at` (since the start of the board); wakes the app only when it asks to be.
    void run_to(Duration at) {
        const Instant end = line.start() + at;
        for (;;) {
            const Instant next = std::min(line.next_step(), app.next_deadline());
            if (next > end) {
                break;
            }
            clock.time = std::max(clock.time, next);
            wake();
        }
        clock.time = std::max(clock.time, end);
    }

    void reload(config::Settings settings) {
        app.reload(std::make_shared<const config::Settings>(std::move(settings)));
    }

    void wake() {
        ++wakes;
        if (line.play()) {
            app.chips_changed();
        } else {
            app.wake();
        }
    }

    VirtualClock clock;
    RecordingPower power;
    RecordingCues cues;
    RecordingJournal journal;
    supervisor::JournalFollower told{journal};
    ToldPostHalt post_halt;
    rehearsal::SimulatedLine line;
    FaultyLine wired;  ///< as the App sees it
    supervisor::App app;
    std::uint64_t wakes = 0;

private:
    std::vector<supervisor::Follower*> followers(std::vector<supervisor::Follower*> more) {
        more.insert(more.begin(), {&cues, &told});
        return more;
    }
};

}  // namespace nightlatch::testing
