// SPDX-License-Identifier: MIT
#include "circuit/line_source.hpp"

#include <algorithm>

namespace nightlatch::circuit {

LineSource::LineSource(const Values& values, double driver, double limit) {
    // A milliohm keeps the arithmetic finite where nothing is in series.
    const double resistance = std::max(driver + values.parts.series_resistor, 1e-3);
    if (values.diode.count == 0) {
        add({-infinite, 1.0 / resistance, 0.0});
    } else {
        add({-infinite, 0.0, values.parts.diode_leakage});  // it blocks
        add({0.0, 0.0, 0.0});
        add_diode(values.diode, resistance);
    }
    add_limit(limit);
}

void LineSource::add(Piece piece) {
    pieces_[size_++] = piece;
}

void LineSource::add_diode(const Diode& diode, double resistance) {
    const auto& points = diode.points;
    add({points[0].drop, 1.0 / resistance, points[0].drop / resistance});
    double rise = 0.0;
    for (std::size_t i = 0; i < diode.count; ++i) {
        const DropPoint& here = points[i];
        if (i + 1 < diode.count) {
            // The last slope goes on for ever.
            const DropPoint& next = points[i + 1];
            rise = std::max(next.drop - here.drop, 0.0) / (next.current - here.current);
            const double total = resistance + rise;
            add({resistance * here.current + here.drop,
                 1.0 / total,
                 (here.drop - rise * here.current) / total});
        }
    }
}

void LineSource::add_limit(double limit) {
    if (limit == infinite) {
        return;
    }
    const auto voltage_at_limit = [&](std::size_t i) {
        return (limit + pieces_[i].offset) / pieces_[i].slope;
    };
    for (std::size_t i = 0; i < size_; ++i) {
        const bool last = i + 1 == size_;
        if (pieces_[i].slope > 0.0 && (last || voltage_at_limit(i) < pieces_[i + 1].from)) {
            const double from = voltage_at_limit(i);
            size_ = i + 1;
            add({from, 0.0, -limit});
            return;
        }
    }
}

std::size_t LineSource::piece_at(double voltage) const {
    std::size_t index = 0;
    while (index + 1 < size_ && voltage >= pieces_[index + 1].from) {
        ++index;
    }
    return index;
}

double LineSource::current(double voltage) const {
    const Piece& piece = pieces_[piece_at(voltage)];
    return piece.slope * voltage - piece.offset;
}

}  // namespace nightlatch::circuit
