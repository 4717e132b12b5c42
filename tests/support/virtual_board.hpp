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
#include <functional>
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
    std::vector<std::uint32_t> withdrawn;
    std::uint32_t request = 0;   ///< the latest
    std::uint32_t question = 0;  ///< the latest: is a shutdown being prepared?
    bool to_send = false;        ///< the latest has not been sent
    bool delay_held = false;

    void ask(std::uint32_t number, core::Action action, core::Inhibitors policy) override {
        asked.push_back(action);
        inhibitors.push_back(policy);
        request = number;
        to_send = true;
    }

    void withdraw(std::uint32_t number) override {
        withdrawn.push_back(number);
        to_send = false;
    }

    void ask_preparing(std::uint32_t number) override { question = number; }

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

/// Simulated lines, by alarm: each plays its own script. A reload makes what the App holds anew,
/// not the line behind it.
class ScriptedAlarms final : public ports::MoreLines {
public:
    ScriptedAlarms(const ports::Clock& clock, std::vector<rehearsal::PressScript> scripts) {
        for (rehearsal::PressScript& script : scripts) {
            lines.push_back(std::make_unique<rehearsal::SimulatedLine>(
                std::move(script),
                clock,
                std::function<void(Instant, const rehearsal::ScriptStep&)>()));
            faulty.push_back(std::make_unique<FaultyLine>(*lines.back(), clock, false));
        }
    }

    std::unique_ptr<ports::ButtonLine> make(core::LineIndex line) override {
        return std::make_unique<Held>(*faulty.at(line - 1));
    }

    [[nodiscard]] Instant next_step() const {
        Instant next = never;
        for (const auto& line : lines) {
            next = std::min(next, line->next_step());
        }
        return next;
    }

    /// True when a chip came or went.
    bool play() {
        bool changed = false;
        for (const auto& line : lines) {
            changed = line->play() || changed;
        }
        return changed;
    }

    std::vector<std::unique_ptr<rehearsal::SimulatedLine>> lines;
    std::vector<std::unique_ptr<FaultyLine>> faulty;  ///< as the App sees them

private:
    struct Held final : ports::ButtonLine {
        explicit Held(ports::ButtonLine& line) : line_(line) {}

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
};

/// Answers what it was told to, and keeps what it was asked.
struct ToldPostHalt final : ports::PostHaltCheck {
    ports::PostHaltReport report;
    std::vector<ports::LookAt> looks;

    ports::PostHaltReport look(const config::Settings&, ports::LookAt what) override {
        looks.push_back(what);
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
    std::vector<rehearsal::PressScript> alarms{};  ///< one for each of the settings'
    std::vector<core::KnownAlarm> known{};
};

/// The real App on a simulated chip in virtual time. Hours pass in milliseconds.
class VirtualBoard {
public:
    VirtualBoard(config::Settings settings,
                 std::vector<rehearsal::ScriptEvent> events,
                 Level at_start,
                 BoardExtras extras = {})
        : line(rehearsal::PressScript{at_start, std::move(events), 0s}, clock, {}),
          wired(line, clock, extras.chip_sleeps), alarms(clock, std::move(extras.alarms)),
          app(std::make_shared<const config::Settings>(std::move(settings)),
              {wired, power, clock, post_halt, alarms},
              followers(std::move(extras.followers)),
              extras.known) {
        app.start();
    }

    explicit VirtualBoard(std::vector<rehearsal::ScriptEvent> events)
        : VirtualBoard(pontoon_settings(), std::move(events), Level::inactive) {}

    /// Runs until `at` (since the start of the board); wakes the app only when it asks to be.
    void run_to(Duration at) {
        const Instant end = line.start() + at;
        for (;;) {
            const Instant next =
                std::min({line.next_step(), alarms.next_step(), app.next_deadline()});
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
        const bool alarms_changed = alarms.play();
        if (line.play() || alarms_changed) {
            app.chips_changed();
        } else {
            app.wake();
        }
        send();
    }

    /// What was asked is sent at once, unless the bus hangs.
    void send() {
        if (!bus_hangs && power.to_send && app.may_send(power.request)) {
            power.to_send = false;
            app.answered(power.request, core::AnswerKind::sent, {});
        }
    }

    /// The login manager answers the latest request.
    void answered(core::AnswerKind kind, const std::string& text = "") {
        app.answered(power.request, kind, {text});
    }

    /// The login manager says whether it prepares a shutdown.
    void prepares(core::BeingPrepared answer) { app.preparing(power.question, answer); }

    bool bus_hangs = false;
    VirtualClock clock;
    RecordingPower power;
    RecordingCues cues;
    RecordingJournal journal;
    supervisor::JournalFollower told{journal};
    ToldPostHalt post_halt;
    rehearsal::SimulatedLine line;
    FaultyLine wired;  ///< as the App sees it
    ScriptedAlarms alarms;
    supervisor::App app;
    std::uint64_t wakes = 0;

private:
    std::vector<supervisor::Follower*> followers(std::vector<supervisor::Follower*> more) {
        more.insert(more.begin(), {&cues, &told});
        return more;
    }
};

}  // namespace nightlatch::testing
