// SPDX-License-Identifier: MIT
#pragma once

#include "base/level.hpp"
#include "base/time.hpp"
#include "core/settings.hpp"

#include <cstdint>
#include <memory>
#include <optional>
#include <variant>

namespace nightlatch::core {

/// Which line an input is of: the button's, or an alarm's.
using LineIndex = std::uint32_t;
constexpr LineIndex button_line = 0;

/// The line of the alarm with this index into Settings::alarms.
constexpr LineIndex line_of_alarm(std::size_t alarm) noexcept {
    return static_cast<LineIndex>(alarm + 1);
}

/// One edge event: a level with the stamp that the kernel took in the interrupt. The level is
/// sampled later, in a thread, so equal successive levels are legal: edges merged
/// [linux drivers/gpio/gpiolib-cdev.c, edge_irq_handler and edge_irq_thread].
struct Sample {
    Instant stamp;
    Level level = Level::inactive;
    LineIndex line = button_line;
};

/// The line was opened, on this chip. Resync or LineGone follows: until then nothing is known.
struct LineOpened {
    Instant at;
    bool sleeps = false;  ///< the chip is behind a bus (I2C, SPI): its edges come late
    LineIndex line = button_line;
};

enum class ResyncWhy : unsigned char { start, reload, gap, reopened, resumed, contradiction };

/// The line was drained, the clock read, the level read and the line found still drained: nothing
/// is known of the time before, and no press that began then is a press.
struct Resync {
    Instant at;
    Level level = Level::inactive;
    ResyncWhy why = ResyncWhy::start;
    std::uint32_t edges = 0;  ///< how many were thrown away: they count for storms
    LineIndex line = button_line;
};

/// The level read just before a deadline passes. While it contradicts the last sample, none does.
struct LevelRead {
    Instant at;
    std::optional<Level> level;  ///< nothing: the read failed; of an alarm's line only
    LineIndex line = button_line;
};

/// The line is not available (at start), or is gone.
struct LineGone {
    Instant at;
    LineIndex line = button_line;
};

/// Something changed among the chips: a line that is gone is worth another try now.
struct LineMayBeBack {
    Instant at;
};

enum class AnswerKind : unsigned char {
    sent,      ///< the call was handed to the bus, or the second route's file made
    accepted,  ///< by the login manager
    taken_up,  ///< by the second route, which has nobody to ask what becomes of it
    refused,   ///< for certain: nothing will come of it
    would_do,  ///< a dry run: nothing was asked, and a real one would have been
};

/// What became of a request, however late. One to a request that is over changes no state.
struct Answer {
    Instant at;
    AnswerKind kind = AnswerKind::accepted;
    std::uint32_t request = 0;         ///< the number of the Ask
    std::uint32_t words = UINT32_MAX;  ///< the shell's own number for what was said; in the note
};

enum class GoingDownKind : unsigned char { unknown, power_off, reboot };

/// PrepareForShutdown [org.freedesktop.login1(5)].
struct GoingDown {
    Instant at;
    bool active = false;
    GoingDownKind kind = GoingDownKind::unknown;
};

enum class BeingPrepared : unsigned char { yes, no, cannot_tell };

/// The answer to AskPreparing: what PreparingForShutdown reads [org.freedesktop.login1(5)].
struct Preparing {
    Instant at;
    std::uint32_t question = 0;  ///< the number of the AskPreparing
    BeingPrepared told = BeingPrepared::cannot_tell;
};

/// The login manager's name on the bus has lost its owner (or we the bus), or has a new one.
struct LoginManager {
    Instant at;
    bool present = false;
};

/// Whoever follows us wants the countdown called off; answered by CalledOff.
struct CallOff {
    Instant at;
};

struct VerdictKnown {
    Instant at;
    Verdict verdict = Verdict::cannot_tell;
};

/// New settings (reload). A Resync, or LineGone, follows from the shell: until then nothing is
/// known.
struct NewSettings {
    Instant at;
    std::shared_ptr<const Settings> settings;
};

using Input = std::variant<Sample,
                           LineOpened,
                           Resync,
                           LevelRead,
                           LineGone,
                           LineMayBeBack,
                           Answer,
                           GoingDown,
                           Preparing,
                           LoginManager,
                           CallOff,
                           VerdictKnown,
                           NewSettings>;

/// Those that are not of the line, nor take the settings away: while a deadline is open that was
/// due before one of them, it waits.
using Message = std::variant<Answer, GoingDown, Preparing, LoginManager, CallOff, VerdictKnown>;

}  // namespace nightlatch::core
