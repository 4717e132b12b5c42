// SPDX-License-Identifier: MIT
#pragma once

#include "base/level.hpp"
#include "base/result.hpp"
#include "base/time.hpp"
#include "config/diagnostic.hpp"
#include "core/settings.hpp"
#include "rehearsal/expectation.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace nightlatch::rehearsal {

/// The button's level becomes this (active: pressed).
struct ButtonMoves {
    Level level = Level::inactive;

    bool operator==(const ButtonMoves&) const = default;
};

/// The level of an alarm's line becomes this.
struct AlarmMoves {
    std::string alarm;  ///< its name in the configuration
    Level level = Level::inactive;

    bool operator==(const AlarmMoves&) const = default;
};

/// Something to tell the person who watches.
struct Remark {
    std::string text;

    bool operator==(const Remark&) const = default;
};

/// The chip is unplugged; or is back, with the level that the button has then.
enum class ChipFault : unsigned char { vanish, comes_back };

/// The next so many edge events are lost, as if the kernel's buffer had run over: the level moves,
/// the event does not come, and the sequence number shows the gap.
struct DropEvents {
    std::uint32_t count = 1;

    bool operator==(const DropEvents&) const = default;
};

enum class AnswerWord : unsigned char { accept, refuse, none };

/// From here on the login manager answers a request so, and after so long. What it accepts it does:
/// PrepareForShutdown(true) follows [org.freedesktop.login1(5)].
struct LoginAnswers {
    std::string reason;  ///< of a refusal, as it would be told; may be empty
    Duration after = std::chrono::milliseconds(20);
    AnswerWord word = AnswerWord::accept;

    bool operator==(const LoginAnswers&) const = default;
};

enum class LoginDoes : unsigned char {
    vanish,      ///< it leaves the bus
    comes_back,  ///< and is back, under a new owner
    power_off,   ///< somebody else's power-off begins
    reboot,
    call_off,  ///< the shutdown under way is given up
};

enum class ServiceDoes : unsigned char {
    restart,  ///< ends and starts again, as after a crash or an upgrade
    reload,   ///< reads its configuration again
    boot,     ///< the board was off and is switched on: whatever was under way is over
};

using ScriptStep = std::variant<ButtonMoves,
                                AlarmMoves,
                                Remark,
                                ChipFault,
                                DropEvents,
                                LoginAnswers,
                                LoginDoes,
                                ServiceDoes>;

struct ScriptEvent {
    Duration at{};  ///< since the start of the script; never less than the event before
    ScriptStep step;

    bool operator==(const ScriptEvent&) const = default;
};

/// An alarm that the script names, and where: only a configuration can tell whether there is one.
struct NamedAlarm {
    std::string name;
    Place place;
};

/// What happens to the simulated button, and when. Bounces are expanded.
struct PressScript {
    Level level_at_start = Level::inactive;
    std::vector<ScriptEvent> events;  ///< in order of time
    Duration end{};                   ///< the run is over; not before the last event
    core::Verdict post_halt = core::Verdict::cannot_tell;  ///< what the service is to find
    std::vector<Expectation> expectations{};               ///< in the order of the text
    std::vector<NamedAlarm> alarms{};                      ///< as often as they are named
};

/// It says how the login manager behaves: then nothing is asked of a real one.
[[nodiscard]] bool scripts_the_login_manager(const PressScript& script) noexcept;

struct [[nodiscard]] LoadedScript {
    std::optional<PressScript> script;  ///< there exactly when `diagnostics` has no error
    config::Diagnostics diagnostics;
};

/// Reads a press script: TOML like the configuration, checked to the same depth.
///
///   level_at_start = "pressed"           # or "released", the default
///   released_at = "4 s"                  # only with "pressed"; left out: held to the end
///   end = "20 s"                         # the default is 5 s after the last event
///
///   [[press]]
///   note = "A hold let go in time"       # optional, told when the press begins
///   at = "6 s"                           # since the start of the script
///   for = "3.2 s"                        # left out: held to the end
///   bounce = { press = ["2 ms", "1 ms"], release = "5 x 1 ms" }
///
///   [[glitch]]                           # the other level for a moment
///   at = "11 s"
///   for = "2 ms"
///
///   [[alarm]]                            # the level of an alarm's line
///   name = "battery low"                 # its name in the configuration
///   at = "12 s"                          # at "0 s" it is there when the service starts
///   for = "30 s"                         # left out: to the end
///
///   [[fault]]
///   at = "13 s"
///   kind = "vanish"                      # vanish | return | drop N events
///
///   [[login_manager]]
///   at = "0 s"
///   answer = "refuse"                    # accept (the default) | refuse | none, from here on
///   after = "20 ms"                      # how long an answer takes
///   reason = "the logger blocks"         # only with "refuse"
///
///   [[login_manager]]
///   at = "20 s"
///   does = "reboot"                      # vanish | return | power-off | reboot | call-off
///
///   [[service]]
///   at = "25 s"
///   does = "restart"                     # restart | reload | boot
///
///   [[expect]]                           # see expectation.hpp
///   at = "9.2 s"
///   asks = "power-off"
///
///   post_halt = "absent"                 # configured | contradicted | absent | "cannot tell"
///   repeat = 365                         # the whole so often, each time from a boot
///   every = "24 h"                       # from one begin to the next; the default is `end`
///
/// A bounce lists pairs: how long the contact stays at the new level, how long it drops back.
/// ["2 ms", "1 ms"] on a press at 6 s: pressed at 6 s, released at 6.002 s, pressed at 6.003 s.
/// "5 x 1 ms" is five pairs of 1 ms and 1 ms. Presses come in order of time and do not overlap,
/// glitches as well; a glitch lies wholly inside or wholly outside a press. At most 200,000 events,
/// and 2,000,000 with all repetitions.
LoadedScript load_press_script(std::string_view text);

/// The alarms of the script that the configuration does not have.
config::Diagnostics unknown_alarms(const PressScript& script, const core::Settings& settings);

/// One line typed by hand at the simulated button.
struct TypedLine {
    enum class Kind : unsigned char { events, help, quit };

    Kind kind = Kind::events;
    std::vector<ScriptEvent> events;  ///< `at` counts from the moment the line is typed
};

/// press | release | press TIME | bounce COUNT x TIME | glitch TIME | drop COUNT | vanish | return
/// | note TEXT | help | quit. `now` is the level at this moment: a bounce and a glitch come back to
/// it. Otherwise one sentence that says what is allowed.
Result<TypedLine, std::string> parse_press_line(std::string_view line, Level now);

/// The help for such lines, one a line.
std::string_view press_line_help() noexcept;

}  // namespace nightlatch::rehearsal
