// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/ports/button_line.hpp"

#include <array>
#include <cstdint>
#include <span>

namespace nightlatch::supervisor {

/// Reads the edges that wait on one line, oldest first, and notices those that the kernel dropped
/// (the oldest, silently) by their sequence numbers. Neither blocks nor allocates.
///
/// `read` takes what waits into a span, as ports::ButtonLine::drain() does; `take` is called with
/// each event and how many were dropped right before it.
class EdgeReader {
public:
    static constexpr std::size_t batch = 64;

    /// How often in one go: a line that storms must not keep the loop from its timers, its signals
    /// and other lines.
    static constexpr int most_batches = 16;

    /// One batch: how many events there were; 0 when none waits.
    template <class Read, class Take>
    Result<std::size_t> read_batch(Read&& read, Take&& take) {
        Result<std::size_t> count = read(std::span<ports::LineEvent>(events_));
        if (!count) {
            return count;
        }
        for (const ports::LineEvent& event : std::span(events_).first(*count)) {
            const std::uint64_t dropped = event.seqno - seqno_ - 1;
            seqno_ = event.seqno;
            take(event, dropped);
        }
        return count;
    }

    /// True when the line was found drained; false when more may wait.
    template <class Read, class Take>
    Result<bool> drain(Read&& read, Take&& take) {
        for (int round = 0; round < most_batches; ++round) {
            const Result<std::size_t> count = read_batch(read, take);
            if (!count) {
                return Unexpected{count.error()};
            }
            if (*count == 0) {
                return true;
            }
        }
        return false;
    }

    /// The line was requested anew: the kernel's first event is 1.
    void restart() noexcept { seqno_ = 0; }

    /// Of the event read last.
    [[nodiscard]] std::uint64_t seqno() const noexcept { return seqno_; }

private:
    std::array<ports::LineEvent, batch> events_{};
    std::uint64_t seqno_ = 0;
};

}  // namespace nightlatch::supervisor
