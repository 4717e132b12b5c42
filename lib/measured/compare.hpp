// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/assessment.hpp"
#include "measured/computed.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::measured {

/// One thing that a wave can tell, beside what is computed of the circuit as it is stated.
struct Quantity {
    std::string id;     ///< stable, for machines: "hold-rc"
    std::string words;  ///< "R·C of the hold capacitor's discharge"
    circuit::Unit unit = circuit::Unit::second;
    bool per_second = false;        ///< the unit is by the second
    std::optional<double> value{};  ///< measured; nothing: `why_not`
    double least = 0.0;             ///< what it may be for all that the wave can tell
    double most = 0.0;
    std::string why_not{};
    circuit::Spread computed{};
    std::vector<std::string> parts{};  ///< that share it, as people call them

    [[nodiscard]] bool is_inside() const {
        return !value || (most >= computed.least && least <= computed.most);
    }
};

/// What the person who watched can tell the logbook.
struct Witness {
    std::optional<std::string> saw{};  ///< "rail to 0 V, 2.1 s"; nothing: `why_not`
    std::string why_not{};
};

struct Comparison {
    Shape shape;
    std::vector<Quantity> quantities;
    std::vector<circuit::Finding> findings;
    Witness witness;

    [[nodiscard]] bool any_measured() const;
};

/// `probe`: ohm of the oscilloscope's probe, which lies across the bleed resistor.
Comparison compare(const circuit::Circuit& circuit, const Waves& waves, double probe);

/// "2.31 s", "412 V/s".
std::string text_of(double value, const Quantity& quantity);

}  // namespace nightlatch::measured
