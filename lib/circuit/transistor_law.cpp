// SPDX-License-Identifier: MIT
#include "circuit/transistor_law.hpp"

#include <algorithm>
#include <cmath>

namespace nightlatch::circuit {
namespace {

constexpr double slope_factor = 1.5;  // some 90 mV a decade in weak inversion
constexpr double no_current = 1e-12;  // A; less is not told apart
constexpr double least_overdrive = 0.3;

double thermal_voltage(double celsius) {
    return 8.617333e-5 * (celsius + 273.15);  // k/q [CODATA 2018]
}

}  // namespace

TransistorLaw TransistorLaw::mosfet(double published,
                                    const Conduction& conduction,
                                    double celsius) {
    const double thermal = thermal_voltage(celsius);
    const double overdrive = std::max(conduction.on.gate_drive - published, least_overdrive);
    const double beta = 1.0 / (std::max(conduction.on.ohms, 1e-4) * overdrive);
    TransistorLaw law;
    law.published_ = published;
    law.test_ = conduction.test_current > 0.0 ? conduction.test_current : 250e-6;
    law.scale_ = 2.0 * slope_factor * thermal;
    law.specific_ = law.scale_ * beta * thermal;
    law.at_test_ = law.above(law.test_);
    return law;
}

TransistorLaw TransistorLaw::bipolar(double published,
                                     const Conduction& conduction,
                                     double celsius) {
    TransistorLaw law;
    law.bipolar_ = true;
    law.published_ = published;
    law.test_ = conduction.test_current > 0.0 ? conduction.test_current : 2e-3;
    law.scale_ = thermal_voltage(celsius);
    law.specific_ = law.test_;
    return law;
}

/// I = specific ln^2(1 + exp(V / scale)), in saturation: V for an I.
double TransistorLaw::above(double current) const {
    const double ratio = std::max(current, no_current) / specific_;
    if (bipolar_) {
        return scale_ * std::log(ratio);
    }
    const double root = std::sqrt(ratio);
    return scale_ * (root + std::log(-std::expm1(-root)));
}

double TransistorLaw::control(double current) const {
    return published_ + above(current) - at_test_;
}

double TransistorLaw::current(double control) const {
    constexpr double far = 30.0;  // ln(1 + e^x) is x from there on
    const double above = (control - published_ + at_test_) / scale_;
    if (bipolar_) {
        return specific_ * std::exp(above);
    }
    const double root = above > far ? above : std::log1p(std::exp(above));
    return specific_ * root * root;
}

}  // namespace nightlatch::circuit
