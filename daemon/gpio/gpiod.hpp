// SPDX-License-Identifier: MIT
#pragma once

#include "base/handle.hpp"
#include "lines/chip.hpp"
#include "supervisor/ports/button_line.hpp"

#include <cstddef>
#include <span>
#include <string>

namespace nightlatch::gpio {

/// What the service is called where the kernel tells who holds a line.
constexpr const char* consumer_name = "nightlatch";
/// The same of the tool, which is somebody else.
constexpr const char* tool_consumer_name = "nightlatch-tool";

/// Where chips and their devices are looked for; other places than these only in tests.
struct Places {
    std::string dev = "/dev";
    std::string sys = "/sys";
};

/// What a line is asked for. An input comes with both edges; an output starts driven inactive.
struct Wanted {
    lines::LineName where;
    lines::Bias bias = lines::Bias::as_is;
    bool active_low = false;
    bool output = false;
    const char* consumer = consumer_name;
};

/// A chip and what the kernel says of its lines, all but its aliases and its node; requests
/// nothing. Trouble: denied, no_chip, other.
Result<lines::Chip> look_at(const Places& places, const std::string& device);

/// A requested line. It belongs to us until it is released, whether or not its chip is open.
struct Held;
void release(Held* held) noexcept;
using HeldLine = Handle<Held, release>;

struct OpenedLine {
    HeldLine line;
    ports::LineFacts facts;
};

/// Finds the chip and the line, anew at each call: a chip that went and came back may have another
/// number. Trouble: no_chip, no_line, ambiguous, busy, denied, unsupported, other.
Result<OpenedLine> request_line(const Places& places, const Wanted& wanted);

/// Readable when edges wait; reports a hang-up once the chip has gone.
int fd_of(const Held& held) noexcept;

/// Takes the edges that wait, oldest first, without blocking or allocating. Trouble: gone, other.
Result<std::size_t> read_edges(Held& held, std::span<ports::LineEvent> into);

/// The logical level now. Trouble: gone, other.
Result<Level> read_level(Held& held);

/// Drives an output. Trouble: gone, other.
Outcome drive(Held& held, Level level);

}  // namespace nightlatch::gpio
