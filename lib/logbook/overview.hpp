// SPDX-License-Identifier: MIT
#pragma once

#include "logbook/book.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <string>

namespace nightlatch::logbook {

struct GoingDown {
    Duration time{};
    std::uint64_t run = 0;
};

/// What was the slowest to stop, and in how many runs.
struct HeldUp {
    std::string unit;
    std::size_t runs = 0;
    Duration longest{};
};

/// Over some runs.
struct Overview {
    std::size_t runs = 0;  ///< the one that goes on is one of them
    std::size_t orderly = 0;
    std::size_t left = 0;
    std::size_t lost = 0;     ///< with last words or without
    std::size_t unknown = 0;  ///< its file system does not tell, or no later run has looked
    std::uint64_t presses = 0;
    std::uint64_t near_misses = 0;
    std::optional<Duration> median;  ///< to go down; of an even number the lower of the middle two
    std::optional<GoingDown> longest;
    std::optional<HeldUp> most;  ///< the one that was the slowest in most runs
    std::size_t journals = 0;    ///< runs whose journal was there to tell
};

Overview overview_of(std::span<const Run> runs);

/// How the run ended and what that rests on, in one sentence; what others wrote in it is made safe.
std::string sentence_of(const Run& run);

/// What took the time while it went down, without a full stop; "" where there is nothing to say.
std::string why_slow(const Run& run);

/// It was off so shortly that it may have switched itself on again.
bool came_back_soon(const Run& run);

}  // namespace nightlatch::logbook
