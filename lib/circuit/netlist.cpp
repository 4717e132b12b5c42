// SPDX-License-Identifier: MIT
#include "circuit/netlist.hpp"

#include "circuit/hold_node.hpp"
#include "circuit/parameters.hpp"
#include "circuit/transient.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <initializer_list>
#include <string_view>
#include <tuple>

namespace nightlatch::circuit {
namespace {

std::string in_spice(double value) {
    std::array<char, 40> buffer{};
    const auto end = std::to_chars(
        buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::scientific, 9);
    return {buffer.data(), end.ptr};
}

/// The lines of a deck; `%` in a form stands for the next number.
class Deck {
public:
    void line(std::string_view form, std::initializer_list<double> numbers = {}) {
        const auto* number = numbers.begin();
        for (const char c : form) {
            text_ += c == '%' && number != numbers.end() ? in_spice(*number++) : std::string(1, c);
        }
        text_ += '\n';
    }

    /// Left out when it is not there.
    void resistor(std::string_view name_and_nodes, double ohms) {
        if (ohms != infinite) {
            line(std::string(name_and_nodes) + " %", {std::max(ohms, 1e-3)});
        }
    }

    [[nodiscard]] const std::string& text() const { return text_; }

private:
    std::string text_;
};

/// 0 or 1 around a voltage of nothing, some ten microvolts wide. Not the simulator's own switch:
/// that changes a whole time step late.
std::string above_zero(const std::string& difference) {
    return "(0.5+0.5*tanh((" + difference + ")*4e4))";
}

/// A state that is left once: a node at 1 V until the rail has been below `level`. As a capacitor
/// it makes the simulator's own step control find the moment.
void write_state(Deck& deck, const std::string& name, double level) {
    deck.line("c" + name + " " + name + " 0 1n");
    deck.line("b" + name + " " + name + " 0 i=v(" + name + ")*1e-3*" +
              above_zero(in_spice(level) + "-v(rail)"));
}

void write_supply(Deck& deck, const Values& values) {
    const Parts<double>& parts = values.parts;
    deck.line("vsupply supply 0 %", {parts.supply_voltage});
    deck.resistor("rgate supply gate", parts.gate_pull);
    deck.line("cgate supply gate %",
              {std::max(parts.gate_capacitance + parts.drain_capacitance, 1e-13)});
    deck.resistor("rfeed rail latch", parts.feed_resistor);
    deck.resistor("rlatch latch 0", parts.latch_pull);
    deck.line("clatch latch 0 1e-12");
}

void write_rail(Deck& deck, const Values& values) {
    const Parts<double>& parts = values.parts;
    deck.line("crail rail 0 %", {parts.rail_capacitance});
    deck.resistor("rbleeder rail 0", parts.rail_bleeder);
    write_state(deck, "drawing", parts.cut_out);
    deck.line("bload rail 0 i=v(drawing)*%+(1-v(drawing))*v(rail)*%",
              {parts.halt_current, parts.rail_leakage / parts.cut_out});
    if (parts.back_feed_current > 0.0) {
        deck.line("bfeed 0 rail i=max(0,(%-v(rail))*%)",
                  {parts.back_feed_voltage, parts.back_feed_current / parts.back_feed_voltage});
    }
}

void write_line(Deck& deck, const Values& values) {
    const Parts<double>& parts = values.parts;
    const PulseTrain& pulses = values.pulses;
    constexpr double edge = 20e-6;  // s; steeper ones it does not always get over
    write_state(deck, "alive", dead_level(values));
    deck.line("vtrain train 0 pwl(0 0 % % % % % 0 % 0 % %)",
              {edge,
               parts.line_high,
               pulses.active,
               parts.line_high,
               pulses.active + edge,
               pulses.active + pulses.inactive,
               pulses.active + pulses.inactive + edge,
               parts.line_high});
    deck.line("bline line 0 v=v(train)*v(alive)");
    const double driver = std::max(parts.line_resistance, 1e-3);
    if (parts.line_current == infinite) {
        deck.resistor("rdriver line pin", driver);
    } else {
        deck.line("bdriver line pin i=min(v(line,pin)*%,%)", {1.0 / driver, parts.line_current});
    }
    deck.resistor("rseries pin anode", parts.series_resistor);
    deck.line("cpin pin 0 10p");
    deck.line("canode anode 0 10p");
    deck.line("chold hold 0 %", {parts.hold_capacitor + input_capacitance});
    deck.resistor("rbleed hold 0", parts.bleed_resistor);
    deck.line("bleak hold 0 i=%*min(1,max(0,v(hold)*1e3))", {parts.hold_leakage});
}

/// A current for a voltage: the leakage while it blocks, nothing below the knee. Both edges are a
/// tenth of a millivolt wide here.
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

void write_switches(Deck& deck, const Values& values) {
    const Parts<double>& parts = values.parts;
    const auto on = [](const std::string& control, double threshold) {
        return above_zero(control + "-" + in_spice(threshold));
    };
    deck.line("bmain supply rail i=v(supply,rail)*%*" + on("v(supply,gate)", parts.main_threshold),
              {1.0 / std::max(values.supply_path, 1e-3)});
    deck.line("blatch gate 0 i=v(gate)*" + on("v(latch)", parts.latch_threshold));
    deck.line("brelease latch 0 i=v(latch)*%*" + on("v(hold)", parts.release_threshold),
              {1.0 / std::max(parts.release_resistance, 1e-3)});
}

/// A square-law MOSFET: its threshold is stated at 250 uA, its RDS(on) at 4.5 V.
struct SquareLaw {
    double vto = 0.0;
    double kp = 0.0;

    SquareLaw(double threshold, double ohms)
        : kp(1.0 / (std::max(ohms, 1e-2) * std::max(4.5 - threshold, 0.5))) {
        vto = threshold - std::sqrt(2.0 * 250e-6 / kp);
    }

    /// The gate's voltage at which it carries so much.
    [[nodiscard]] double gate_for(double current) const {
        return vto + std::sqrt(2.0 * std::max(current, 1e-9) / kp);
    }
};

constexpr double main_ohms = 0.05;

void write_mosfet(Deck& deck, const std::string& name, const SquareLaw& model) {
    const bool p_channel = name == "main";
    deck.line(".model " + name + (p_channel ? " pmos" : " nmos") + "(level=1 vto=% kp=%)",
              {p_channel ? -model.vto : model.vto, model.kp});
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
    // Both: what is fitted holds at this temperature and must not be moved there again.
    deck.line(".temp %", {values.parts.temperature});
    deck.line(".options tnom=%", {values.parts.temperature});
}

void write_mosfets(Deck& deck, const Values& values) {
    const Parts<double>& parts = values.parts;
    deck.resistor("rpath supply source", values.supply_path);
    deck.line("mmain rail gate source source main w=1u l=1u");
    deck.line("mlatch gate latch 0 0 latch w=1u l=1u");
    deck.line("mrelease latch hold 0 0 release w=1u l=1u");
    write_mosfet(deck, "main", {parts.main_threshold, main_ohms});
    write_mosfet(deck, "latch", {parts.latch_threshold, parts.release_resistance});
    write_mosfet(deck, "release", {parts.release_threshold, parts.release_resistance});
}

/// A rail that is fed from outside may rise again once the release transistor lets go of the feed
/// resistor, and takes its time: ten of its time constants.
double rise_again(const Transient& expected, const Parts<double>& parts) {
    if (expected.outcome != Outcome::comes_back || parts.back_feed_current <= 0.0) {
        return 0.0;
    }
    return 10.0 * parts.rail_capacitance * parts.back_feed_voltage / parts.back_feed_current;
}

/// What the release transistor must carry while the rail is up.
double through_feed(const Parts<double>& parts) {
    return (parts.supply_voltage - parts.latch_threshold) / parts.feed_resistor;
}

double duration_of(const Transient& expected, const Values& values, Models models) {
    const double train = values.pulses.active + values.pulses.inactive + 0.5;
    if (expected.opened_at == infinite) {
        return train;
    }
    const auto finite = [](double time) { return std::isfinite(time) ? time : 0.0; };
    const double last = std::max(finite(expected.hold_off), finite(expected.rail_fall));
    // The full models may hold it for longer than we say.
    const double longer = models == Models::piecewise ? 1.25 : 4.0;
    return expected.opened_at + longer * last + rise_again(expected, values.parts) + 0.05;
}

}  // namespace

std::string netlist(const Values& values, Models models, const std::string& output) {
    const Transient expected = simulate(values);
    Deck deck;
    deck.line("nightlatch: a soft-latch supply lets go after halt");
    write_supply(deck, values);
    write_rail(deck, values);
    write_line(deck, values);
    if (models == Models::piecewise) {
        write_piecewise_diode(deck, values);
        write_switches(deck, values);
    } else {
        write_full_diode(deck, values);
        write_mosfets(deck, values);
    }
    deck.line(".ic v(rail)=% v(latch)=% v(gate)=0 v(hold)=0 v(alive)=1 v(drawing)=1",
              {expected.rail_on, expected.rail_on});
    if (models == Models::full) {
        deck.line(".ic v(source)=%", {expected.rail_on});
    }
    deck.line(".options method=gear reltol=1e-5 trtol=1 abstol=1e-13 vntol=1e-7");
    const double duration = duration_of(expected, values, models);
    deck.line(".tran % % 0 % uic", {duration / 1000.0, duration, duration / 1000.0});
    deck.line(".control");
    deck.line("run");
    deck.line("set wr_singlescale");
    deck.line("wrdata " + output + " v(rail) v(hold) v(supply,gate)");
    deck.line("quit");
    deck.line(".endc");
    deck.line(".end");
    return deck.text();
}

double release_overdrive(const Values& values) {
    const Parts<double>& parts = values.parts;
    const SquareLaw release(parts.release_threshold, parts.release_resistance);
    return release.gate_for(through_feed(parts)) - release.vto;
}

Values with_effective_thresholds(const Values& values) {
    Values effective = values;
    Parts<double>& parts = effective.parts;
    const double through_pull = (parts.supply_voltage - parts.main_threshold) / parts.gate_pull;
    parts.release_threshold =
        SquareLaw(parts.release_threshold, parts.release_resistance).gate_for(through_feed(parts));
    parts.latch_threshold =
        SquareLaw(parts.latch_threshold, parts.release_resistance).gate_for(through_pull);
    parts.main_threshold = SquareLaw(parts.main_threshold, main_ohms).gate_for(parts.halt_current);
    return effective;
}

std::string netlist(const Circuit& circuit, Models models) {
    return netlist(values_at(circuit, everything_typical()), models);
}

}  // namespace nightlatch::circuit
