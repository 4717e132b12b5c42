// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

#include <cmath>

namespace nightlatch::circuit {

/// A capacitor that a constant current and a conductance work on: C dv/dt = J - G v. Between two
/// events of the circuit every voltage follows such an exponential exactly.
struct Stage {
    double capacitance = 0.0;  ///< F, above zero
    double current = 0.0;      ///< A into it at 0 V
    double conductance = 0.0;  ///< 1/ohm to ground, not negative

    /// Current into the capacitor at a voltage.
    [[nodiscard]] double net(double voltage) const { return current - conductance * voltage; }

    [[nodiscard]] double after(double voltage, double time) const {
        if (conductance == 0.0) {
            return voltage + current * time / capacitance;
        }
        return voltage - net(voltage) / conductance * std::expm1(-time * conductance / capacitance);
    }

    /// Seconds until a rising voltage has reached `target`: 0 when it is there, infinite for never.
    [[nodiscard]] double rises_to(double voltage, double target) const {
        const double now = net(voltage);
        return now <= 0.0 ? infinite : voltage >= target ? 0.0 : moves(now, target - voltage);
    }

    [[nodiscard]] double falls_to(double voltage, double target) const {
        const double now = net(voltage);
        return now >= 0.0 ? infinite : voltage <= target ? 0.0 : moves(now, target - voltage);
    }

    /// Where it ends up: infinite when nothing stops it.
    [[nodiscard]] double settles() const {
        return conductance > 0.0 ? current / conductance : std::copysign(infinite, current);
    }

private:
    // RC charge and discharge [RC circuit, step response: v = vf + (v0 - vf) e^(-t/RC)], written
    // with log1p so that it stays exact when the conductance is next to nothing.
    [[nodiscard]] double moves(double now, double distance) const {
        if (conductance == 0.0) {
            return distance * capacitance / now;
        }
        const double part = distance * conductance / now;
        return part >= 1.0 ? infinite : -capacitance / conductance * std::log1p(-part);
    }
};

}  // namespace nightlatch::circuit
