// SPDX-License-Identifier: MIT
#include "circuit/corners.hpp"

#include <algorithm>

namespace nightlatch::circuit {
namespace {

constexpr int most_climbs = 4;

/// Climbs from a start to the circuit that needs the longest pulse, one part after the other.
class Climb {
public:
    Climb(const Circuit& circuit, const Position& start)
        : circuit_(circuit), position_(start), pulse_(pulse_at(start)) {}

    double run() {
        for (int climb = 0; climb < most_climbs && pulse_ < infinite && improve(); ++climb) {
        }
        return pulse_;
    }

private:
    [[nodiscard]] double pulse_at(const Position& position) const {
        return shortest_pulse(values_at(circuit_, position));
    }

    bool improve() {
        const double before = pulse_;
        for (std::size_t i = 0; i < parameter_count; ++i) {
            const bool exact = (circuit_.parts.*parameters()[i].spread).is_exact();
            if (parameters()[i].bad != BadEnd::neither && !exact) {
                try_ends_of(i);
            }
        }
        return pulse_ > before;
    }

    void try_ends_of(std::size_t i) {
        for (const double place : {0.0, 0.5, 1.0}) {
            Position there = position_;
            there[i] = place;
            if (const double pulse = pulse_at(there); pulse > pulse_) {
                pulse_ = pulse;
                position_ = there;
            }
        }
    }

    const Circuit& circuit_;
    Position position_;
    double pulse_;
};

/// The capacitor is charged slowest here.
Position slowest() {
    Position position = everything_typical();
    for (std::size_t i = 0; i < parameter_count; ++i) {
        position[i] = place_of(parameters()[i].bad);
    }
    for (const char* key : {"hold_capacitor", "release_threshold"}) {
        position[*parameter_named(key)] = 1.0;
    }
    position[*parameter_named("line_high")] = 0.0;
    position[*parameter_named("temperature")] = 0.0;
    return position;
}

}  // namespace

double worst_pulse(const Circuit& circuit) {
    double longest = 0.0;
    for (const Position& start : {worst_case(circuit).position, slowest()}) {
        longest = std::max(longest, Climb(circuit, start).run());
    }
    return longest;
}

}  // namespace nightlatch::circuit
