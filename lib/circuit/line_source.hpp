// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

#include <array>
#include <cstddef>

namespace nightlatch::circuit {

/// The current through pin driver, series resistor and diode, against the voltage across the three,
/// as straight pieces: the diode's leakage while it blocks, nothing below the knee, then its
/// pieces, then the driver's limit.
class LineSource {
public:
    /// i = slope * voltage - offset, from `from` volts on.
    struct Piece {
        double from = 0.0;
        double slope = 0.0;
        double offset = 0.0;
    };

    /// `driver`: ohm in the pin; `limit`: A at most.
    LineSource(const Values& values, double driver, double limit);

    [[nodiscard]] double current(double voltage) const;

    /// The index of the piece that holds at this voltage.
    [[nodiscard]] std::size_t piece_at(double voltage) const;

    [[nodiscard]] const Piece& piece(std::size_t index) const { return pieces_[index]; }

    [[nodiscard]] std::size_t size() const { return size_; }

private:
    void add(Piece piece);
    void add_diode(const Diode& diode, double resistance);
    void add_limit(double limit);

    std::array<Piece, Diode::most_points + 4> pieces_{};
    std::size_t size_ = 0;
};

}  // namespace nightlatch::circuit
