// SPDX-License-Identifier: MIT
#pragma once

#include <cstdint>
#include <random>
#include <string_view>

namespace nightlatch::test {

/// The seed of this run: SEED from the environment replays one, else it is a new one. Printed with
/// `what` in either case, so that a failure can be replayed: SEED=n and the test's name.
std::uint64_t seed_for(std::string_view what);

/// Draws that mean the same on every platform (the standard's distributions do not).
class Dice {
public:
    explicit Dice(std::uint64_t seed) : engine_(seed) {}

    /// 0 … bound-1; bound > 0.
    std::uint64_t below(std::uint64_t bound) { return engine_() % bound; }

    bool one_in(std::uint64_t chances) { return below(chances) == 0; }

    template <class Container>
    const auto& pick(const Container& from) {
        return from[static_cast<std::size_t>(below(from.size()))];
    }

private:
    std::mt19937_64 engine_;
};

}  // namespace nightlatch::test
