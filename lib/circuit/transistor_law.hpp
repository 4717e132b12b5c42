// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

namespace nightlatch::circuit {

/// What control voltage a transistor needs for a current, from the published one at its test
/// current. Drain or collector far above ground; one temperature.
class TransistorLaw {
public:
    /// Gate-source of a MOSFET: EKV with slope factor 1.5, which holds in weak inversion too; beta
    /// from RDS(on) at the lowest gate drive for which that is published, where the channel has
    /// most of it and the leads least [Enz, Krummenacher, Vittoz: Analog Integrated Circuits and
    /// Signal Processing 8, 1995, 83-114].
    static TransistorLaw mosfet(double published, const Conduction& conduction, double celsius);

    /// Base-emitter: kT/q for each factor e of collector current [ngspice manual, BJT models].
    static TransistorLaw bipolar(double published, const Conduction& conduction, double celsius);

    [[nodiscard]] double published() const { return published_; }

    /// V for so many amperes.
    [[nodiscard]] double control(double current) const;

    /// A for so many volts.
    [[nodiscard]] double current(double control) const;

private:
    [[nodiscard]] double above(double current) const;

    bool bipolar_ = false;
    double published_ = 0.0;
    double test_ = 0.0;
    double scale_ = 0.0;     // V
    double specific_ = 0.0;  // A
    double at_test_ = 0.0;   // above(test_)
};

}  // namespace nightlatch::circuit
