// SPDX-License-Identifier: MIT
#include "circuit/netlist.hpp"

#include "circuit/deck.hpp"
#include "circuit/hold_node.hpp"
#include "circuit/transient.hpp"

#include <algorithm>
#include <cmath>

namespace nightlatch::circuit {
namespace {

/// A state that is left once: a node at 1 V until the rail has been below `level`. As a capacitor
/// it makes the simulator's own step control find the moment.
void write_state(Deck& deck, const std::string& name, double level) {
    deck.line("c" + name + " " + name + " 0 1n");
    deck.line("b" + name + " " + name + " 0 i=v(" + name + ")*1e-3*" +
              above_zero(in_spice(level) + "-v(rail)"));
}

void write_rail(Deck& deck, const Values& values, const Stages& stages) {
    const Parts<double>& parts = values.parts;
    deck.line("vsupply supply 0 %", {parts.supply_voltage});
    deck.line("crail rail 0 %", {parts.rail_capacitance});
    deck.resistor("rbleeder rail 0", parts.rail_bleeder);
    write_state(deck, "drawing", parts.cut_out);
    deck.line("bload rail 0 i=v(drawing)*%+(1-v(drawing))*v(rail)*%",
              {parts.halt_current, parts.rail_leakage / parts.cut_out});
    if (parts.back_feed_current > 0.0) {
        deck.line("bbackfeed 0 rail i=max(0,(%-v(rail))*%)",
                  {parts.back_feed_voltage, parts.back_feed_current / parts.back_feed_voltage});
    }
    if (has_enable_pin(parts) && parts.output_discharge < infinite) {
        deck.line("bdischarge rail 0 i=v(rail)*%*(1-" +
                      above_zero("v(drive)-" + in_spice(stages.gate_opens)) + ")",
                  {1.0 / parts.output_discharge});
    }
}

/// What charges the hold capacitor: the pin, its pull-up, or the inverter.
void write_line(Deck& deck, const Values& values, const Stages& stages) {
    const Parts<double>& parts = values.parts;
    const PulseTrain& pulses = values.pulses;
    constexpr double edge = 20e-6;  // s; steeper ones it does not always get over
    write_state(deck, "alive", dead_level(values, stages));
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
    const double driver = std::max(stages.line_resistance, 1e-3);
    if (stages.line_current == infinite) {
        deck.resistor("rdriver line pin", driver);
    } else {
        deck.line("bdriver line pin i=min(v(line,pin)*%,%)", {1.0 / driver, stages.line_current});
    }
    deck.resistor("rseries pin anode", parts.series_resistor);
    deck.line("cpin pin 0 10p");
    deck.line("canode anode 0 10p");
    deck.line("chold hold 0 %", {parts.hold_capacitor + input_capacitance});
    deck.resistor("rbleed hold 0", parts.bleed_resistor);
    deck.line("bleak hold 0 i=%*min(1,max(0,v(hold)*1e3))", {parts.hold_leakage});
}

/// A rail that is fed from outside may rise again once the release stage lets go of the feed
/// resistor, and takes its time: ten of its time constants.
double rise_again(const Transient& expected, const Parts<double>& parts) {
    if (expected.outcome != Outcome::comes_back || parts.back_feed_current <= 0.0) {
        return 0.0;
    }
    return 10.0 * parts.rail_capacitance * parts.back_feed_voltage / parts.back_feed_current;
}

double duration_of(const Transient& expected, const Values& values) {
    const double train = values.pulses.active + values.pulses.inactive + 0.5;
    if (expected.opened_at == infinite) {
        return train;
    }
    const auto finite = [](double time) { return std::isfinite(time) ? time : 0.0; };
    const double last = std::max(finite(expected.hold_off), finite(expected.rail_fall));
    constexpr double longer = 4.0;  // real devices may hold it for longer than we say
    return expected.opened_at + longer * last + rise_again(expected, values.parts) + 0.05;
}

}  // namespace

std::string netlist(const Values& values, const std::string& output) {
    const Transient expected = simulate(values);
    const Stages stages = stages_of(values);
    Deck deck;
    deck.line("nightlatch: a soft-latch supply lets go after halt");
    write_rail(deck, values, stages);
    write_line(deck, values, stages);
    write_devices(deck, values, stages);
    deck.line(".ic v(rail)=% v(hold)=0 v(alive)=1 v(drawing)=1 v(drive)=%",
              {expected.rail_on, stages.gate_drive});
    deck.line(".options method=gear reltol=1e-5 trtol=1 abstol=1e-13 vntol=1e-7");
    const double duration = duration_of(expected, values);
    deck.line(".tran % % 0 % uic", {duration / 1000.0, duration, duration / 1000.0});
    deck.line(".control");
    deck.line("run");
    deck.line("set wr_singlescale");
    deck.line("wrdata " + output + " v(rail) v(hold) v(drive)");
    deck.line("quit");
    deck.line(".endc");
    deck.line(".end");
    return deck.text();
}

}  // namespace nightlatch::circuit
