// SPDX-License-Identifier: MIT
#pragma once

#include <bit>
#include <cmath>
#include <cstdint>

namespace nightlatch::circuit {

/// Repeatable numbers from a seed: xoshiro256+ seeded by splitmix64 [Blackman and Vigna, "Scrambled
/// linear pseudorandom number generators", ACM TOMS 47 (2021)].
class Draw {
public:
    explicit Draw(std::uint64_t seed) {
        for (std::uint64_t& word : state_) {
            seed += 0x9E3779B97F4A7C15;
            std::uint64_t z = seed;
            z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9;
            z = (z ^ (z >> 27)) * 0x94D049BB133111EB;
            word = z ^ (z >> 31);
        }
    }

    /// From 0 on and below 1.
    double uniform() {
        const std::uint64_t result = state_[0] + state_[3];
        const std::uint64_t shifted = state_[1] << 17;
        state_[2] ^= state_[0];
        state_[3] ^= state_[1];
        state_[1] ^= state_[2];
        state_[0] ^= state_[3];
        state_[2] ^= shifted;
        state_[3] = std::rotl(state_[3], 45);
        return static_cast<double>(result >> 11) * 0x1p-53;
    }

    /// A position in a spread, most often near its middle.
    double triangular() {
        const double u = uniform();
        return u < 0.5 ? std::sqrt(u / 2.0) : 1.0 - std::sqrt((1.0 - u) / 2.0);
    }

private:
    std::uint64_t state_[4]{};
};

}  // namespace nightlatch::circuit
