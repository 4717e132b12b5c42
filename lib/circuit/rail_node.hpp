// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/stage.hpp"
#include "circuit/stages.hpp"

namespace nightlatch::circuit {

/// The rail's side of the transient: fed by the supply while the main switch is closed, drawn on
/// by the board down to the regulator's cut-out (and not again), by leakage, bleeder and feed
/// resistor; perhaps fed from outside. Between two of its own events it is one exponential.
class RailNode {
public:
    enum class Event : unsigned char { none, cut_out, back_feed };

    struct Next {
        double after = infinite;  ///< s
        Event event = Event::none;
    };

    /// Begins with the main switch closed and everything at rest. `values` must outlive it.
    RailNode(const Values& values, const Stages& stages);

    [[nodiscard]] double voltage() const { return voltage_; }

    [[nodiscard]] const Stage& stage() const { return stage_; }

    [[nodiscard]] bool is_drawing() const { return drawing_; }

    void set_voltage(double volts);
    void set_main_switch(bool closed);
    void set_released(bool released);  ///< the release transistor pulls at the feed resistor

    [[nodiscard]] Next next() const;

    void move(double seconds) { voltage_ = stage_.after(voltage_, seconds); }

    void pass(Event event);

    /// Where it ends with the supply off, fed from outside; 0 when it is not.
    [[nodiscard]] double rests_at() const;

private:
    void update();

    const Parts<double>& parts_;
    double feed_;   // V
    double path_;   // ohm
    double under_;  // ohm from the latch's input to ground while released
    double voltage_ = 0.0;
    bool closed_ = true;
    bool drawing_ = true;
    bool feeding_ = false;
    bool released_ = false;
    Stage stage_;
};

}  // namespace nightlatch::circuit
