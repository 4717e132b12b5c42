// SPDX-License-Identifier: MIT
#include "support/random_circuit.hpp"

#include "circuit/parameters.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

namespace nightlatch::circuit {
namespace {

class Draw {
public:
    explicit Draw(std::uint64_t seed) : engine_(seed) {}

    double between(double low, double high) { return low + (high - low) * unit(); }

    /// Evenly over the decades.
    double about(double low, double high) { return low * std::pow(high / low, unit()); }

    bool once_in(int count) { return unit() * count < 1.0; }

private:
    // Not std::uniform_real_distribution, whose numbers each library may draw its own way.
    double unit() { return static_cast<double>(engine_() >> 11) * 0x1p-53; }

    std::mt19937_64 engine_;
};

void draw_supply(Parts<double>& parts, Draw& draw) {
    parts.supply_voltage = draw.between(4.5, 5.5);
    parts.load_current = draw.about(0.3, 2.5);
    parts.halt_current = draw.about(0.03, 0.6);
    parts.rail_capacitance = draw.about(47e-6, 2200e-6);
    parts.cut_out = draw.between(2.2, 3.9);
    parts.rail_leakage = draw.about(100e-6, 10e-3);
    parts.rail_bleeder = draw.once_in(2) ? infinite : draw.about(330.0, 10e3);
    if (draw.once_in(4)) {
        parts.back_feed_voltage = draw.between(0.8, 4.4);
        parts.back_feed_current = draw.about(0.2e-3, 20e-3);
    }
}

void draw_release(Values& values, Draw& draw) {
    Parts<double>& parts = values.parts;
    parts.line_high = draw.between(3.0, 3.4);
    parts.line_resistance = draw.between(20.0, 120.0);
    parts.line_current = draw.once_in(3) ? infinite : draw.about(8e-3, 60e-3);
    parts.pin_limit = 16e-3;
    parts.boot_pull = infinite;
    parts.series_resistor = draw.once_in(10) ? 0.0 : draw.about(10.0, 4.7e3);
    parts.diode_factor = 1.0;
    parts.diode_leakage = draw.about(0.05e-6, 5e-6);
    parts.hold_capacitor = draw.about(0.47e-6, 220e-6);
    parts.hold_leakage = draw.about(1e-9, 5e-6);
    parts.bleed_resistor = draw.once_in(12) ? infinite : draw.about(10e3, 1e6);
    parts.release_threshold = draw.between(0.6, 2.8);
    parts.release_resistance = draw.between(1.0, 8.0);
    const double knee = draw.between(0.15, 0.3);
    values.diode.count = draw.once_in(15) ? 0 : 4;
    values.diode.points = {DropPoint{1e-4, knee},
                           DropPoint{1e-3, knee + draw.between(0.05, 0.1)},
                           DropPoint{1e-2, knee + draw.between(0.12, 0.2)},
                           DropPoint{0.1, knee + draw.between(0.25, 0.6)}};
}

void draw_latch(Parts<double>& parts, Draw& draw) {
    parts.feed_resistor = draw.about(4.7e3, 220e3);
    parts.latch_pull = draw.once_in(2) ? infinite : parts.feed_resistor * draw.about(3.0, 30.0);
    parts.latch_threshold = draw.between(0.6, 2.2);
    parts.gate_pull = draw.about(4.7e3, 220e3);
    parts.gate_capacitance = draw.about(0.5e-9, 100e-9);
    parts.drain_capacitance = draw.about(0.05e-9, 0.5e-9);
    parts.main_threshold = draw.between(0.5, 1.3);
}

void draw_bipolar(Parts<double>& parts, Draw& draw) {
    parts.release_gain = draw.about(100.0, 400.0);
    parts.release_base = draw.about(4.7e3, 220e3);
    parts.release_threshold = draw.between(0.6, 0.7);
    if (draw.once_in(2)) {
        parts.latch_gain = draw.about(100.0, 400.0);
        parts.latch_threshold = draw.between(0.6, 0.7);
    }
}

void draw_line(Parts<double>& parts, Draw& draw) {
    parts.line_pull = draw.about(1e3, 47e3);
    if (draw.once_in(2)) {
        parts.inverter_threshold = draw.between(0.5, 1.5);
        parts.inverter_resistance = draw.about(0.05, 20.0);
    }
}

void draw_gate(Parts<double>& parts, Draw& draw) {
    parts.supply_voltage = draw.between(10.0, 26.0);
    parts.gate_series = parts.gate_pull * draw.about(0.2, 2.0);
    parts.gate_zener = draw.once_in(2) ? infinite : draw.between(5.0, 12.0);
}

void draw_enable_pin(Parts<double>& parts, Draw& draw) {
    parts.enable_threshold = draw.between(0.7, 1.6);
    parts.enable_hysteresis = draw.once_in(3) ? 0.0 : draw.between(0.05, 0.5);
    parts.enable_delay = draw.once_in(4) ? 0.0 : draw.about(1e-6, 3e-3);
    parts.regulator_output = draw.once_in(2) ? 0.0 : draw.between(4.8, 5.3);
    parts.output_discharge = draw.once_in(2) ? infinite : draw.about(50.0, 1e3);
    parts.latch_threshold = parts.main_threshold = parts.gate_pull = 0.0;
    parts.gate_capacitance = parts.drain_capacitance = 0.0;
}

}  // namespace

Values random_values(std::uint64_t seed, Kind kind) {
    Draw draw(seed);
    Values values;
    Parts<double>& parts = values.parts;
    draw_supply(parts, draw);
    draw_release(values, draw);
    draw_latch(parts, draw);
    parts.line_pull = parts.gate_zener = parts.output_discharge = infinite;
    switch (kind) {
    case Kind::plain:
        break;
    case Kind::bipolar:
        draw_bipolar(parts, draw);
        break;
    case Kind::pulled_line:
        draw_line(parts, draw);
        break;
    case Kind::driven_gate:
        draw_gate(parts, draw);
        break;
    case Kind::enable_pin:
        draw_enable_pin(parts, draw);
        break;
    }
    values.parts.temperature = 25.0;
    values.supply_path = draw.about(0.03, 0.4);
    return values;
}

Values any_values(std::uint64_t seed) {
    Draw draw(seed);
    Values values;
    std::array<bool, stage_count> stages{};
    std::generate(stages.begin(), stages.end(), [&draw] { return draw.once_in(2); });
    const auto has = [&stages](Of of) -> bool& { return stages[static_cast<std::size_t>(of)]; };
    has(Of::every) = true;
    has(Of::gate) = !has(Of::enable_pin);
    has(Of::driven_line) = !has(Of::pulled_line);
    has(Of::inverter) = has(Of::inverter) && has(Of::pulled_line);
    for (const Parameter& parameter : parameters()) {
        const bool absent =
            !has(parameter.of) || (parameter.absent != Absent::required && draw.once_in(3));
        const auto [least, most] = parameter.range;
        values.parts.*parameter.value =
            absent        ? (parameter.absent == Absent::infinite_value ? infinite : 0.0)
            : least > 0.0 ? draw.about(least, most)
                          : draw.between(least, most);
    }
    values.parts.enable_hysteresis =
        std::min(values.parts.enable_hysteresis, 0.9 * values.parts.enable_threshold);
    values.diode.count = draw.once_in(4) ? 0 : 2;
    values.diode.points = {DropPoint{1e-4, draw.between(0.05, 0.5)},
                           DropPoint{1e-2, draw.between(0.5, 1.2)}};
    values.supply_path = draw.about(1e-3, 100.0);
    values.pulses = {draw.about(1e-3, 60.0), draw.about(1e-3, 60.0), draw.about(1e-3, 600.0)};
    return values;
}

}  // namespace nightlatch::circuit
