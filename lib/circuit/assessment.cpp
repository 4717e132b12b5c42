// SPDX-License-Identifier: MIT
#include "circuit/assessment.hpp"

#include "base/text.hpp"
#include "circuit/findings.hpp"
#include "circuit/parameters.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::circuit {
namespace {

constexpr std::array<std::string_view, 9> caution_texts{
    "This is neither an emergency stop nor a safety function, and \"off\" is not isolation.",
    "One supply at a time; a fuse at the source; mind the polarity and what feeds back.",
    "Lithium cells need cut-out and protection in hardware.",
    "Never put the supply's voltage on a GPIO line.",
    "No load current through breadboards.",
    "Measure hot parts at full load, in the closed enclosure.",
    "Mind the hold capacitor's polarity and rated voltage.",
    "The post-halt node without a working latch leaves a busy processor at full draw.",
    "Mains and battery packs are a matter of local codes and licensed practice.",
};

Values at_its_hottest(const Circuit& circuit) {
    Position position = everything_typical();
    position[*parameter_named("temperature")] = 1.0;
    return values_at(circuit, position);
}

/// From a pin that is stiffer than its driver is stated, at the highest level.
PinLoad worst_pin(const Circuit& circuit) {
    Position position = everything_typical();
    for (const char* key : {"line_high", "hold_capacitor"}) {
        position[*parameter_named(key)] = 1.0;
    }
    for (const char* key : {"diode_factor", "series_resistor", "line_resistance", "pin_limit"}) {
        position[*parameter_named(key)] = 0.0;
    }
    PinLoad load = pin_load(values_at(circuit, position));
    position[*parameter_named("series_resistor")] = 1.0;
    position[*parameter_named("line_resistance")] = 1.0;
    const PinLoad slow = pin_load(values_at(circuit, position));
    load.charge_time = slow.charge_time;
    load.charged_in_time = slow.charged_in_time;
    return load;
}

/// Rounding must not make all of some.
std::string share_text(const Assessment& assessment) {
    const MonteCarlo& drawn = assessment.drawn;
    const std::string of = counted(drawn.circuits, "circuit") + " drawn from the tolerances ";
    if (drawn.stay_off == drawn.circuits) {
        return "all of " + of + "stay off";
    }
    if (drawn.stay_off == 0) {
        return "of " + of + "none stays off";
    }
    return "of " + of + number_text(assessment.stays_off_percent, 6) + " % stay off";
}

StaysOff stays_off_of(const Assessment& assessment) {
    if (assessment.worst.transient.outcome == Outcome::stays_off) {
        return StaysOff::all_corners;
    }
    const bool typical = assessment.typical.outcome == Outcome::stays_off;
    return typical && assessment.stays_off_percent >= 50.0 ? StaysOff::percentile : StaysOff::no;
}

std::string headline_of(const Assessment& assessment) {
    const double margin = assessment.worst.transient.margin;
    switch (assessment.stays_off) {
    case StaysOff::all_corners:
        return "Yes: even in the worst case the supply switches off and stays off" +
               (margin == infinite
                    ? std::string(".")
                    : ", with a margin of " + to_text(margin, Unit::second, 3) + ".");
    case StaysOff::percentile:
        return "Not in the worst case: " + share_text(assessment) + "; at the worst corner it " +
               std::string(text_of(assessment.worst.transient.outcome)) + ".";
    case StaysOff::no:
        return "No: with typical parts the supply " +
               std::string(text_of(assessment.typical.outcome)) + "; " + share_text(assessment) +
               ".";
    }
    return "";
}

}  // namespace

Assessment judged(const Circuit& circuit, bool transient) {
    Assessment result;
    if (transient) {
        result.typical = simulate(values_at(circuit, everything_typical()));
        result.worst = worst_case(circuit);
        if (result.worst.transient.outcome != Outcome::stays_off) {
            result.thresholds = threshold_table(circuit);  // else there is none that fails
        }
    } else {
        result.worst.transient.outcome = Outcome::stays_off;
        result.worst.transient.margin = infinite;
    }
    result.on = worst_switch_on(circuit);
    result.pin = worst_pin(circuit);
    result.main = worst_switch_load(circuit);
    result.currents = standing_currents(circuit, at_its_hottest(circuit));
    result.findings = findings_of(circuit, result);
    return result;
}

Assessment assess(const Circuit& circuit, unsigned circuits, std::uint64_t seed, bool advised) {
    Assessment result = judged(circuit);
    result.drawn = monte_carlo(circuit, circuits, seed);
    result.stays_off_percent = 100.0 * result.drawn.stay_off / result.drawn.circuits;
    result.shortest_pulse = worst_pulse(circuit);
    result.sensitivities = sensitivities(circuit);
    if (result.thresholds.empty()) {
        result.thresholds = threshold_table(circuit);
    }
    result.stays_off = stays_off_of(result);
    result.headline = headline_of(result);
    if (advised) {
        result.what_ifs = advice(circuit, result);
        add_remedies(circuit, result);
    }
    return result;
}

std::span<const std::string_view> cautions() noexcept {
    return caution_texts;
}

std::string_view text_of(StaysOff stays_off) noexcept {
    switch (stays_off) {
    case StaysOff::all_corners:
        return "yes";
    case StaysOff::percentile:
        return "not in the worst case";
    case StaysOff::no:
        return "no";
    }
    return "";
}

}  // namespace nightlatch::circuit
