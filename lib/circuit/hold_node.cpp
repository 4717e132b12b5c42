// SPDX-License-Identifier: MIT
#include "circuit/hold_node.hpp"

#include <algorithm>

namespace nightlatch::circuit {

HoldNode::HoldNode(const Values& values, const Stages& stages)
    : source_(values, stages.line_resistance, stages.line_current),
      capacitance_(values.parts.hold_capacitor + input_capacitance),
      leakage_(values.parts.hold_leakage), bleed_(1.0 / values.parts.bleed_resistor),
      base_level_(stages.base_level), base_conductance_(stages.base_conductance) {
    update();
}

void HoldNode::set_line(double volts) {
    line_ = volts;
    piece_ = source_.piece_at(line_ - voltage_);
    update();
}

void HoldNode::update() {
    const LineSource::Piece& piece = source_.piece(piece_);
    stage_ = {capacitance_, piece.slope * line_ - piece.offset - leakage_, piece.slope + bleed_};
    if (base_draws_) {
        stage_.current += base_conductance_ * base_level_;
        stage_.conductance += base_conductance_;
    }
    if (voltage_ <= 0.0 && stage_.net(voltage_) < 0.0) {
        stage_.current = stage_.conductance = 0.0;  // leakage ends with the charge
    }
}

HoldNode::Next HoldNode::next() const {
    Next next;
    const auto consider = [&](double after, Event event) {
        if (after < next.after) {
            next = {after, event};
        }
    };
    if (piece_ > 0) {
        consider(stage_.rises_to(voltage_, line_ - source_.piece(piece_).from),
                 Event::less_current);
    }
    if (piece_ + 1 < source_.size()) {
        consider(stage_.falls_to(voltage_, line_ - source_.piece(piece_ + 1).from),
                 Event::more_current);
    }
    if (base_conductance_ > 0.0) {
        consider(base_draws_ ? stage_.falls_to(voltage_, base_level_)
                             : stage_.rises_to(voltage_, base_level_),
                 Event::base);
    }
    if (voltage_ > 0.0) {
        consider(stage_.falls_to(voltage_, 0.0), Event::empty);
    }
    return next;
}

void HoldNode::pass(Event event) {
    switch (event) {
    case Event::more_current:
        return change_piece(piece_ + 1);
    case Event::less_current:
        return change_piece(piece_ - 1);
    case Event::base:
        voltage_ = base_level_;
        base_draws_ = !base_draws_;
        return update();
    case Event::empty:
        voltage_ = 0.0;
        return update();
    case Event::none:
        return;
    }
}

void HoldNode::change_piece(std::size_t piece) {
    voltage_ = line_ - source_.piece(std::max(piece, piece_)).from;
    piece_ = piece;
    update();
}

}  // namespace nightlatch::circuit
