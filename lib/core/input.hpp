// SPDX-License-Identifier: MIT
#pragma once

#include "base/level.hpp"
#include "base/time.hpp"
#include "core/settings.hpp"

#include <cstdint>
#include <memory>
#include <variant>

namespace nightlatch::core {

/// Which line an input is of. No other line is known yet: what comes of one is traced, no more.
using LineIndex = std::uint32_t;
constexpr LineIndex button_line = 0;

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
    Level level = Level::inactive;
    LineIndex line = button_line;
};

/// The line cannot be had (at start), or is gone.
struct LineGone {
    Instant at;
    LineIndex line = button_line;
};

/// Something changed among the chips: a line that is gone is worth another try now.
struct LineMayBeBack {
    Instant at;
};

enum class AnswerKind : unsigned char {
    accepted,  ///< also "operation in progress": somebody's shutdown is under way
    refused,
};

/// What the login manager said to our request, however late.
struct Answer {
    Instant at;
    AnswerKind kind = AnswerKind::accepted;
};

enum class GoingDownKind : unsigned char { unknown, power_off, reboot };

/// PrepareForShutdown [org.freedesktop.login1(5)], or what PreparingForShutdown reads at start.
struct GoingDown {
    Instant at;
    bool active = false;
    GoingDownKind kind = GoingDownKind::unknown;
};

/// The login manager's name on the bus has lost its owner, or has a new one.
struct LoginManager {
    Instant at;
    bool present = false;
    bool preparing = false;  ///< its PreparingForShutdown, where present
};

/// An alarm line's level has lasted.
struct AlarmDue {
    Instant at;
    std::uint32_t alarm = 0;  ///< index into Settings::alarms
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
                           LoginManager,
                           AlarmDue,
                           VerdictKnown,
                           NewSettings>;

}  // namespace nightlatch::core
