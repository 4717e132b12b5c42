// SPDX-License-Identifier: MIT
#include "circuit/deck.hpp"

#include <cmath>
#include <tuple>

namespace nightlatch::circuit {
namespace {

/// A current for a voltage: the leakage while it blocks, nothing below the knee; both edges are a
/// tenth of a millivolt wide.
void write_piecewise_diode(Deck& deck, const Values& values) {
    const Diode& diode = values.diode;
    const std::string leaks = in_spice(-values.parts.diode_leakage);
    if (diode.count == 0) {
        deck.resistor("rdiode anode hold", 1e-3);
        return;
    }
    const DropPoint& first = diode.points[0];
    std::string form = "bdiode anode hold i=pwl(v(anode,hold),-100," + leaks + ",-1e-4," + leaks +
                       ",0,0," + in_spice(first.drop - 1e-4) + ",0," + in_spice(first.drop) + "," +
                       in_spice(first.current);
    DropPoint last{first.drop > 0.0 ? first.current : 0.0, first.drop};
    double rise = 1e-3;
    for (std::size_t i = 1; i < diode.count; ++i) {
        const DropPoint& point = diode.points[i];
        rise = std::max((point.drop - last.drop) / (point.current - last.current), 1e-3);
        form += "," + in_spice(point.drop) + "," + in_spice(point.current);
        last = point;
    }
    form += "," + in_spice(last.drop + 10.0 * rise) + "," + in_spice(last.current + 10.0) + ")";
    deck.line(form);
}

/// The exponential diode through the second and the last published drop, leaking at most what is
/// published.
struct FullDiode {
    double saturation = 0.0;  ///< IS
    double slope = 0.0;       ///< N times the thermal voltage
    double resistance = 0.0;  ///< RS
};

FullDiode fitted(const Values& values) {
    const auto& points = values.diode.points;
    const auto [first, second, last] =
        std::tuple{points[0], points[1], points[values.diode.count - 1]};
    const double decade = (second.drop - first.drop) / std::log(second.current / first.current);
    const double most = std::max(values.parts.diode_leakage, 1e-12);
    FullDiode full;
    full.saturation = std::min(first.current / std::expm1(first.drop / decade), most);
    full.slope = second.drop / std::log1p(second.current / full.saturation);
    full.resistance =
        (last.drop - full.slope * std::log1p(last.current / full.saturation)) / last.current;
    return full;
}

void write_full_diode(Deck& deck, const Values& values) {
    if (values.diode.count < 2) {
        write_piecewise_diode(deck, values);
        return;
    }
    const FullDiode full = fitted(values);
    const double thermal = 8.617e-5 * (values.parts.temperature + 273.15);
    deck.line("ddiode anode hold schottky");
    deck.line(".model schottky d(is=% n=% rs=%)",
              {full.saturation, full.slope / thermal, std::max(full.resistance, 1e-3)});
    deck.line("bdiodeleak hold anode i=%*min(1,max(0,v(hold,anode)*1e3))",
              {values.parts.diode_leakage - full.saturation});
}

/// A square-law MOSFET through its published threshold, with its RDS(on).
void write_mosfet(Deck& deck, const std::string& name, double threshold, const Conduction& at) {
    const double overdrive = std::max(at.on.gate_drive - threshold, 0.5);
    const double kp = 1.0 / (std::max(at.on.ohms, 1e-2) * overdrive);
    const double test = at.test_current > 0.0 ? at.test_current : 250e-6;
    const double vto = threshold - std::sqrt(2.0 * test / kp);
    const bool p_channel = name == "main";
    deck.line(".model " + name + (p_channel ? " pmos" : " nmos") + "(level=1 vto=% kp=%)",
              {p_channel ? -vto : vto, kp});
}

/// Through its published base-emitter voltage and gain, without its resistances.
void write_bipolar(Deck& deck, const std::string& name, const Values& values, double gain) {
    const Parts<double>& parts = values.parts;
    const bool release = name == "release";
    const double control = release ? parts.release_threshold : parts.latch_threshold;
    const double stated = release ? values.release.test_current : values.latch.test_current;
    const double thermal = 8.617333e-5 * (parts.temperature + 273.15);
    const double saturation = (stated > 0.0 ? stated : 2e-3) / std::expm1(control / thermal);
    deck.line(".model " + name + " npn(is=% bf=%)", {saturation, gain});
}

void write_release(Deck& deck, const Values& values) {
    const Parts<double>& parts = values.parts;
    if (parts.release_gain > 0.0) {
        deck.resistor("rbase hold base", parts.release_base);
        deck.line("qrelease latch base 0 release");
        write_bipolar(deck, "release", values, parts.release_gain);
        return;
    }
    deck.line("mrelease latch hold 0 0 release w=1u l=1u");
    write_mosfet(deck, "release", parts.release_threshold, values.release);
}

/// The output follows the pin after its delay; while it is on the pin's falling threshold counts.
void write_enable_pin(Deck& deck, const Values& values, const Stages& stages) {
    const Parts<double>& parts = values.parts;
    const std::string on = above_zero("v(drive)-" + in_spice(stages.gate_opens));
    deck.line("cdrive drive 0 %", {std::max(stages.gate_time / 1e5, 1e-13)});
    deck.line("rdrive drive 0 1e5");
    deck.line("benable drive 0 i=(v(drive)-%)*" +
                  above_zero("v(latch)-" + in_spice(parts.enable_threshold) + "+" + on + "*" +
                             in_spice(parts.enable_hysteresis)),
              {stages.gate_drive});
    deck.line("bmain 0 rail i=(%-v(rail))*%*" + on,
              {stages.rail_feed, 1.0 / std::max(values.supply_path, 1e-3)});
}

void write_latch_and_main(Deck& deck, const Values& values) {
    const Parts<double>& parts = values.parts;
    deck.resistor("rgate supply gate", parts.gate_pull);
    deck.line("cgate supply gate %",
              {std::max(parts.gate_capacitance + parts.drain_capacitance, 1e-13)});
    deck.resistor("rgateseries gate drain", parts.gate_series);
    if (parts.gate_zener > 0.0 && parts.gate_zener < infinite) {
        // 20 ohm through the voltage that is published at 5 mA; its own model does not begin here.
        deck.line("bzener supply gate i=max(0,v(supply,gate)-%)/20", {parts.gate_zener - 0.1});
    }
    deck.line("bdrive drive 0 v=v(supply,gate)");
    deck.resistor("rpath supply source", values.supply_path);
    deck.line("mmain rail gate source source main w=1u l=1u");
    write_mosfet(deck, "main", parts.main_threshold, values.main);
    if (parts.latch_gain > 0.0) {
        deck.line("qlatch drain latch 0 latch");
        write_bipolar(deck, "latch", values, parts.latch_gain);
    } else {
        deck.line("mlatch drain latch 0 0 latch w=1u l=1u");
        write_mosfet(deck, "latch", parts.latch_threshold, values.latch);
    }
    deck.line(".ic v(gate)=% v(drain)=0 v(source)=% v(supply)=%",
              {parts.supply_voltage - 0.95 * gate_drive(parts),
               parts.supply_voltage,
               parts.supply_voltage});
}

}  // namespace

void write_devices(Deck& deck, const Values& values, const Stages& stages) {
    const Parts<double>& parts = values.parts;
    // Both: what is fitted holds at this temperature and must not be moved there again.
    deck.line(".temp %", {parts.temperature});
    deck.line(".options tnom=%", {parts.temperature});
    write_full_diode(deck, values);
    deck.resistor("rfeed rail latch", parts.feed_resistor);
    deck.resistor("rlatch latch 0", parts.latch_pull);
    deck.line("clatch latch 0 1e-12");
    // At rest; a base far above its voltage is where the simulator cannot begin.
    deck.line(".ic v(latch)=%", {parts.latch_gain > 0.0 ? parts.latch_threshold : stages.rail_on});
    write_release(deck, values);
    if (has_enable_pin(parts)) {
        write_enable_pin(deck, values, stages);
    } else {
        write_latch_and_main(deck, values);
    }
}

}  // namespace nightlatch::circuit
