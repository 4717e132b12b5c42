// SPDX-License-Identifier: MIT
#pragma once

#include "scale.hpp"
#include "world.hpp"

#include <string>

namespace nightlatch::proof {

struct Run {
    std::string name;
    Scaled scaled;
    Alphabet alphabet;
    Lateness lateness;
    bool quick;         ///< belongs to the default tests
    bool soon = false;  ///< finds soon what a broken core does wrong; not meant to close
};

struct Effort {
    std::size_t states = 60'000'000;
    std::size_t memory = std::size_t{4} << 30U;
    double seconds = 0;             ///< 0: as long as it takes
    std::uint32_t check_every = 1;  ///< one state in so many is computed again with junk
};

enum class End : unsigned char { closed, cut, violated };

struct Outcome {
    End end = End::cut;
    std::string why;  ///< what is wrong, or what cut it
    std::uint32_t states = 0;
    std::uint64_t transitions = 0;
    double seconds = 0;
    std::size_t memory = 0;
    std::vector<Move> example;  ///< how to get there
};

Outcome search(const Run& run, const Effort& effort);

/// The counter-example as a test's body: a press script cannot say it, because the constants of the
/// core are scaled, and a script plays with the published ones.
std::string told_example(const Run& run, const Outcome& outcome);

std::vector<Run> all_runs();

}  // namespace nightlatch::proof
