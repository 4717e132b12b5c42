// SPDX-License-Identifier: MIT
#include "circuit/rail_node.hpp"

#include <algorithm>

namespace nightlatch::circuit {

RailNode::RailNode(const Values& values, const Stages& stages)
    : parts_(values.parts), feed_(stages.rail_feed), path_(std::max(values.supply_path, 1e-3)),
      under_(1.0 / (1.0 / parts_.latch_pull + 1.0 / std::max(parts_.release_resistance, 1e-3))),
      voltage_(stages.rail_on), drawing_(voltage_ >= parts_.cut_out) {
    update();
}

void RailNode::set_voltage(double volts) {
    voltage_ = volts;
    update();
}

void RailNode::set_main_switch(bool closed) {
    closed_ = closed;
    update();
}

void RailNode::set_released(bool released) {
    released_ = released;
    update();
}

void RailNode::update() {
    stage_ = {parts_.rail_capacitance, 0.0, 1.0 / parts_.rail_bleeder};
    stage_.conductance += 1.0 / (parts_.feed_resistor + (released_ ? under_ : parts_.latch_pull));
    if (closed_) {
        stage_.current += feed_ / path_;
        stage_.conductance += 1.0 / path_;
    } else if (parts_.enable_threshold > 0.0) {
        stage_.conductance += 1.0 / parts_.output_discharge;
    }
    if (drawing_) {
        stage_.current -= parts_.halt_current;
    } else {
        stage_.conductance += parts_.rail_leakage / parts_.cut_out;
    }
    if (feeding_) {
        stage_.current += parts_.back_feed_current;
        stage_.conductance += parts_.back_feed_current / parts_.back_feed_voltage;
    }
}

RailNode::Next RailNode::next() const {
    Next next;
    if (drawing_) {
        next = {stage_.falls_to(voltage_, parts_.cut_out), Event::cut_out};
    }
    if (parts_.back_feed_current > 0.0) {
        const double after = feeding_ ? stage_.rises_to(voltage_, parts_.back_feed_voltage)
                                      : stage_.falls_to(voltage_, parts_.back_feed_voltage);
        if (after < next.after) {
            next = {after, Event::back_feed};
        }
    }
    return next;
}

void RailNode::pass(Event event) {
    if (event == Event::cut_out) {
        voltage_ = parts_.cut_out;
        drawing_ = false;
    } else if (event == Event::back_feed) {
        // A supply below what feeds it back hands over at once.
        voltage_ = std::min(voltage_, parts_.back_feed_voltage);
        feeding_ = !feeding_;
    }
    update();
}

double RailNode::rests_at() const {
    if (parts_.back_feed_current <= 0.0) {
        return 0.0;
    }
    double out_of_it = 1.0 / parts_.rail_bleeder + parts_.rail_leakage / parts_.cut_out +
                       1.0 / (parts_.feed_resistor + parts_.latch_pull);
    if (parts_.enable_threshold > 0.0) {
        out_of_it += 1.0 / parts_.output_discharge;
    }
    const double into_short = parts_.back_feed_current;
    return into_short / (out_of_it + into_short / parts_.back_feed_voltage);
}

}  // namespace nightlatch::circuit
