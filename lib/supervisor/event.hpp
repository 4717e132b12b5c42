// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "base/time.hpp"
#include "config/settings.hpp"
#include "core/cue.hpp"
#include "core/input.hpp"
#include "core/settings.hpp"
#include "core/trace.hpp"
#include "supervisor/ports/button_line.hpp"
#include "supervisor/ports/post_halt_check.hpp"

#include <string>
#include <variant>

/// What happens, as values. The only words in an event are other people's (names of the
/// configuration, an adapter's or the login manager's reason): narrate.hpp makes sentences of it.
namespace nightlatch::supervisor {

// --- the service ---------------------------------------------------------------------------------

struct Started {};

/// Other settings are in force, and everything has been looked at anew.
struct Reloaded {};

/// The last event.
struct Stopping {
    bool in_shutdown = false;  ///< what shows the `leaving` cue leaves it standing
};

/// The board slept, and is awake again; told before the line is read anew.
struct Suspended {};

// --- the button line -----------------------------------------------------------------------------

/// Told before the level is read for the first time.
struct LineOpened {
    ports::LineRequest request;
    ports::LineFacts facts;
    bool after_trouble = false;
};

/// Told just before an open line is let go, for whatever reason: its descriptor is still good.
struct LineClosing {};

/// The line cannot be had, or vanished; told at each try.
struct LineLost {
    lines::LineName where;
    Error error;
    bool news = true;  ///< false: told before, or denied while udev may still be at work
};

/// The kernel dropped edges: the line is read anew.
struct EdgesDropped {};

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

/// An answer to our request that had a meaning.
struct Answered {
    core::Note note;
    core::AnswerKind kind = core::AnswerKind::accepted;
    std::string text;  ///< who refused and why; empty for a plain acceptance
};

/// A power-off was decided and is not asked for: the supply would stay on.
struct PowerOffRefused {
    core::Note note;
    std::string reason;
};

/// A shutdown has begun, whoever's, or was given up.
struct GoingDown {
    core::Note note;
    bool active = false;
};

/// Pressed for longer than a press can be, and never seen released.
struct PressedForEver {
    core::Note note;
    lines::LineName where;
    bool active_low = false;
};

struct LineFloats {
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
                               Answered,
                               PowerOffRefused,
                               GoingDown,
                               PressedForEver,
                               LineFloats,
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
