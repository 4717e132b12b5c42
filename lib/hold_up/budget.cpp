// SPDX-License-Identifier: MIT
#include "hold_up/budget.hpp"

#include <algorithm>
#include <cmath>

namespace nightlatch::hold_up {
namespace {

constexpr double seconds_an_hour = 3'600.0;

/// Where in each spread: the bad end makes the time shorter.
enum class Corner : unsigned char { typical, worst };

double low(const Spread& spread, Corner corner) {
    return corner == Corner::typical ? spread.typical : spread.least;
}

double high(const Spread& spread, Corner corner) {
    return corner == Corner::typical ? spread.typical : spread.most;
}

/// Of the two levels the one that is reached first ends it.
double ends_at_terminals(const HoldUp& hold_up, Corner corner) {
    return std::max(high(hold_up.to_voltage, corner), high(hold_up.cut_out, corner));
}

/// A cell's voltage is taken to fall evenly with its charge between the two voltages, as a
/// capacitor's does. Where the curve is flat first and falls at last, it lasts longer.
double capacitance_of(const HoldUp& hold_up, Corner corner) {
    const double capacity = low(hold_up.capacity, corner) * low(hold_up.end_of_life, corner);
    const double from = hold_up.from_voltage.typical;
    const double to = ends_at_terminals(hold_up, Corner::typical);
    if (hold_up.unit == Unit::ampere_hour) {
        return capacity * seconds_an_hour / (from - to);
    }
    if (hold_up.unit == Unit::watt_hour) {
        return capacity * seconds_an_hour * 2.0 / (from * from - to * to);
    }
    return capacity;
}

Exact exact_at(const HoldUp& hold_up, Corner corner) {
    Exact exact;
    exact.capacitance = capacitance_of(hold_up, corner);
    exact.esr = high(hold_up.esr, corner);
    exact.from = low(hold_up.from_voltage, corner);
    exact.to = ends_at_terminals(hold_up, corner);
    if (!hold_up.is_constant_power()) {
        exact.current = high(hold_up.current, corner);
        return exact;
    }
    exact.efficiency = low(hold_up.efficiency, corner);
    const double board = hold_up.power.most > 0.0
                             ? high(hold_up.power, corner)
                             : high(hold_up.current, corner) * high(hold_up.board_voltage, corner);
    exact.power = board / exact.efficiency;
    return exact;
}

/// What is under the root of i = (V - sqrt(V^2 - 4 R P)) / (2 R).
double root_at(const Exact& exact, double voltage) {
    return std::sqrt(std::max(voltage * voltage - 4.0 * exact.esr * exact.power, 0.0));
}

/// The integral of C dV / i, up to a constant: 1/i is (V + sqrt(V^2 - a)) / (2 P), a = 4 R P.
double time_down_from(const Exact& exact, double voltage) {
    const double a = 4.0 * exact.esr * exact.power;
    const double root = root_at(exact, voltage);
    const double bent = a > 0.0 ? a * std::log(voltage + root) : 0.0;
    return exact.capacitance / (4.0 * exact.power) * (voltage * (voltage + root) - bent);
}

Budget budget_at(const HoldUp& hold_up, Corner corner) {
    Budget budget;
    budget.exact = exact_at(hold_up, corner);
    const Exact& exact = budget.exact;
    budget.lasts = lasts(exact);
    budget.ends_at = std::min(ends_at(exact), exact.from);
    const double squares = exact.from * exact.from - budget.ends_at * budget.ends_at;
    budget.stored = exact.capacitance * squares / 2.0;
    const double out = exact.power > 0.0 ? exact.power * budget.lasts
                                         : budget.stored - exact.current * exact.current *
                                                               exact.esr * budget.lasts;
    budget.lost_in_esr = std::max(budget.stored - out, 0.0);
    budget.for_board = out * exact.efficiency;
    budget.lost_in_converter = out - budget.for_board;
    budget.noticed = high(hold_up.noticed_after, corner);
    budget.going_down = high(hold_up.time_to_go_down, corner);
    budget.margin = budget.lasts - budget.noticed - budget.going_down;
    return budget;
}

}  // namespace

double ends_at(const Exact& exact) {
    if (exact.power <= 0.0) {
        return exact.to + exact.current * exact.esr;
    }
    // Below the square root of R P the terminals collapse: a source gives no more than V^2 / (4 R).
    const double collapses = std::sqrt(exact.esr * exact.power);
    return exact.to > collapses ? exact.to + exact.esr * exact.power / exact.to : 2.0 * collapses;
}

double lasts(const Exact& exact) {
    const double end = ends_at(exact);
    if (exact.from <= end) {
        return 0.0;
    }
    if (exact.power <= 0.0) {
        return exact.capacitance * (exact.from - end) / exact.current;
    }
    return time_down_from(exact, exact.from) - time_down_from(exact, end);
}

Budget typical_budget(const HoldUp& hold_up) {
    return budget_at(hold_up, Corner::typical);
}

Budget worst_budget(const HoldUp& hold_up) {
    return budget_at(hold_up, Corner::worst);
}

}  // namespace nightlatch::hold_up
