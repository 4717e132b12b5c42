// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/line_source.hpp"
#include "circuit/stage.hpp"
#include "circuit/stages.hpp"

namespace nightlatch::circuit {

/// Input capacitance of a small MOSFET, what is left when the hold capacitor is missing: 27 pF
/// [BSS138 data sheet, Ciss].
constexpr double input_capacitance = 27e-12;

/// The hold capacitor's side of the transient: charged by the line through driver, series
/// resistor and diode, emptied by the bleed resistor, by leakages and by the base of a bipolar
/// release transistor. Between two of its own events it is one exponential.
class HoldNode {
public:
    /// What happens to it next by itself: it comes into another piece of the source, the base
    /// begins or ends to draw, or it is empty.
    enum class Event : unsigned char { none, more_current, less_current, base, empty };

    struct Next {
        double after = infinite;  ///< s
        Event event = Event::none;
    };

    HoldNode(const Values& values, const Stages& stages);

    [[nodiscard]] double voltage() const { return voltage_; }

    [[nodiscard]] double line() const { return line_; }

    [[nodiscard]] const Stage& stage() const { return stage_; }

    void set_line(double volts);

    /// Exactly there, when an event has been computed for it.
    void set_voltage(double volts) { voltage_ = volts; }

    [[nodiscard]] Next next() const;

    void move(double seconds) { voltage_ = stage_.after(voltage_, seconds); }

    void pass(Event event);

private:
    void change_piece(std::size_t piece);
    void update();

    LineSource source_;
    double capacitance_;
    double leakage_;
    double bleed_;  // 1/ohm
    double base_level_;
    double base_conductance_;
    bool base_draws_ = false;
    double voltage_ = 0.0;
    double line_ = 0.0;
    std::size_t piece_ = 0;
    Stage stage_;
};

}  // namespace nightlatch::circuit
