// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "base/time.hpp"
#include "config/settings.hpp"
#include "core/alarm_watch.hpp"
#include "core/cue.hpp"
#include "core/input.hpp"
#include "core/settings.hpp"
#include "core/trace.hpp"
#include "supervisor/ports/button_line.hpp"
#include "supervisor/ports/post_halt_check.hpp"
#include "supervisor/ports/power.hpp"

#include <memory>
#include <optional>
#include <string>
#include <variant>

/// What happens, as values. The only words in an event are other people's (names of the
/// configuration, an adapter's or the login manager's reason): narrate.hpp makes sentences of it.
namespace nightlatch::supervisor {

/// Kept once: the core, the App and what is around it refer to the same ones. A reload puts others
/// in their place.
using SettingsInForce = std::shared_ptr<const config::Settings>;

// --- the service ---------------------------------------------------------------------------------

struct Started {
    SettingsInForce settings;
};

/// Other settings are in force, and everything has been looked at anew.
struct Reloaded {
    SettingsInForce settings;
};

/// The last event.
struct Stopping {
    bool in_shutdown = false;  ///< what shows the `leaving` cue leaves it standing
};

/// The board slept, and is awake again; told before the line is read anew.
struct Suspended {};

// --- the lines: the button's and the alarms' -----------------------------------------------------

/// Told before the level is read for the first time.
struct LineOpened {
    ports::LineRequest request;
    ports::LineFacts facts;
    bool after_trouble = false;
    bool on_trial = false;  ///< it could not be read, and may be as it was
    core::LineIndex line = core::button_line;
};

/// Told just before an open line is released, for whatever reason: its descriptor is still good.
struct LineClosing {
    core::LineIndex line = core::button_line;
};

/// The line is not available, or vanished; told at each try.
struct LineLost {
    lines::LineName where;
    Error error;
    bool news = true;  ///< false: told before, or denied while udev may still be at work
    core::LineIndex line = core::button_line;
};

/// The kernel dropped edges: the line is read anew.
struct EdgesDropped {
    lines::LineName where;
};

// --- what the core notes -------------------------------------------------------------------------
// Each note is one event: of a type of its own where it leads to something or where words for it
// need more than the note, else Noted.

struct ByPress {
    core::Stage stage;
    Duration held{};
    core::ActOn act_on = core::ActOn::release;

    bool operator==(const ByPress&) const = default;
};

struct ByAlarm {
    std::string name;

    bool operator==(const ByAlarm&) const = default;
};

/// Why something was decided.
using Cause = std::variant<ByPress, ByAlarm>;

/// The rest of the trace. Many: making and telling one allocates nothing.
struct Noted {
    core::Note note;
};

struct StageReached {
    core::Note note;
    core::Stage stage;
};

/// Let go before the first stage.
struct NearMiss {
    core::Note note;
    core::Stage first;
};

struct Decided {
    core::Note note;
    ByPress cause;
};

struct AlarmDue {
    core::Note note;
    ByAlarm cause;
};

/// What else becomes of an alarm.
struct AlarmTold {
    core::Note note;
    std::string name;
};

/// To be remembered until the board is switched off.
struct AlarmKept {
    core::KnownAlarm alarm;
};

/// An answer to a request of ours; the note's reason says of what kind.
struct Answered {
    core::Note note;
    std::string text;  ///< who refused and why; empty for a plain acceptance
    std::optional<ports::Blocker> blocker{};
};

/// A power-off was decided and is not asked for: the supply would stay on.
struct PowerOffRefused {
    core::Note note;
    std::string reason;
};

/// A shutdown has begun, whoever's, or was given up, or cannot be told of.
struct GoingDown {
    core::Note note;
    bool active = false;
    std::string failure;  ///< where our request has failed with it, and why was said before
};

/// Whoever asked for the countdown to be called off is told.
struct CallOffAnswered {
    bool done = false;  ///< there was something to call off
};

/// Pressed for longer than a press can be, and never seen released.
struct PressedForEver {
    core::Note note;
    lines::LineName where;
    bool active_low = false;
};

/// The line floats or is disturbed; the note has its edges per second.
struct LineUnreadable {
    core::Note note;
    lines::LineName where;
};

/// It could not be read, and has been readable for long enough since; the note has for how long.
struct LineReadable {
    core::Note note;
    lines::LineName where;
};

// --- what was done, and what is shown ------------------------------------------------------------

/// The system has been asked.
struct Asked {
    core::Action action = core::Action::power_off;
    core::Inhibitors inhibitors = core::Inhibitors::respect;
    Cause cause;
};

/// Follows Asked, where the configuration wants to be warned.
struct SupplyStaysOn {
    std::string reason;
};

/// The name of a stage, or of an alarm, of action `announce`.
struct Announced {
    std::string name;
};

/// The cue is another one, or is to be shown anew after a reload.
struct CueShown {
    core::Cue cue;
};

/// The look at the post-halt line's configuration found something else than the one before.
struct PostHaltLooked {
    ports::PostHaltReport report;
    core::WithoutPostHalt policy = core::WithoutPostHalt::warn;
};

using Happening = std::variant<Started,
                               Reloaded,
                               Stopping,
                               Suspended,
                               LineOpened,
                               LineClosing,
                               LineLost,
                               EdgesDropped,
                               Noted,
                               StageReached,
                               NearMiss,
                               Decided,
                               AlarmDue,
                               AlarmTold,
                               AlarmKept,
                               Answered,
                               PowerOffRefused,
                               GoingDown,
                               CallOffAnswered,
                               PressedForEver,
                               LineUnreadable,
                               LineReadable,
                               Asked,
                               SupplyStaysOn,
                               Announced,
                               CueShown,
                               PostHaltLooked>;

struct Event {
    Instant at;  ///< when it is told; the core's notes carry the time that they are about
    Happening what;
};

/// What the core noted, where the event is about that; else null.
inline const core::Note* note_of(const Event& event) {
    return std::visit(
        []<class What>(const What& what) -> const core::Note* {
            if constexpr (requires { what.note; }) {
                return &what.note;
            } else {
                return nullptr;
            }
        },
        event.what);
}

/// Whoever wants to know what happens. Each follower is told each event once, in order. It cannot
/// answer, and calls nothing of the App meanwhile.
struct Follower {
    Follower() = default;
    Follower(const Follower&) = delete;
    Follower& operator=(const Follower&) = delete;
    virtual ~Follower() = default;

    virtual void happened(const Event& event) = 0;
};

}  // namespace nightlatch::supervisor
