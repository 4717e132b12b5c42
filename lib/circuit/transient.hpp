// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/stages.hpp"

#include <string_view>
#include <vector>

namespace nightlatch::circuit {

/// What the supply does once the kernel has raised the post-halt line.
enum class Outcome : unsigned char {
    stays_off,
    comes_back,      ///< it opens, and closes again when the release transistor opens
    never_releases,  ///< the release transistor does not get, or does not give, enough to open it
    never_on,        ///< the latch cannot keep the supply on in the first place
};

std::string_view text_of(Outcome outcome) noexcept;

/// Times in seconds; infinite where something never happens.
struct Transient {
    Outcome outcome = Outcome::never_releases;
    unsigned pulse = 0;              ///< which active level opened it for good: 1, 2; 0 for none
    double released_at = infinite;   ///< release transistor on, from the start of the pulse train
    double opened_at = infinite;     ///< main switch open, likewise
    double rail_fall = infinite;     ///< from there until the latch could not switch on again
    double hold_off = 0.0;           ///< from there until the release transistor opens
    double margin = -infinite;       ///< hold_off less rail_fall
    double rail_margin = -infinite;  ///< V of the rail below latch_level when the stage lets go
    double release_level = 0.0;      ///< V on the hold capacitor at which the stage lets go
    double release_begins = 0.0;     ///< V there at which it was taken to be on
    double hold_voltage = 0.0;       ///< V on the hold capacitor when the line dies, or at its end
    double rail_on = 0.0;            ///< V on the rail before all this
    double rail_settles = 0.0;       ///< V on the rail in the end: above zero when fed from outside
    double latch_level = 0.0;        ///< V on the rail at which the latch switches on again
};

/// For a picture: what the voltages are at one time.
struct TracePoint {
    double time = 0.0;
    double line = 0.0;
    double hold = 0.0;
    double rail = 0.0;
    double gate = 0.0;  ///< gate to source of the main switch, magnitude
};

/// The rail's voltage below which the post-halt line is dead: what is stated. Else the line's own
/// high level, where the rail is above that (a regulator that steps down), and never less than the
/// cut-out; where it is not, the cut-out (a boost converter keeps the level down to there, and so,
/// it is taken, does logic that the rail itself feeds).
double dead_level(const Values& values, const Stages& stages);

/// Computes one exact circuit by events: every voltage is an exponential between them, so nothing
/// is stepped. A piecewise-linear diode, a line that dies for good at dead_level(), stages that are
/// on above their levels, a constant current down to the cut-out, below it a leakage that falls
/// with the voltage. Where only the second active level opens it, a release stage that is on sooner
/// may let the first do so: then the worse of both counts. `trace`, where given, is filled.
Transient simulate(const Values& values, std::vector<TracePoint>* trace = nullptr);

/// The shortest single pulse (then inactive for ever) after which the supply stays off: seconds, to
/// within a thousandth; infinite when none up to 100 s will do.
double shortest_pulse(const Values& values);

/// RC discharge by a resistor alone: R C ln(from / to); 0 when `from` is not above `to`.
double discharge_time(double from, double to, double ohms, double farads);

}  // namespace nightlatch::circuit
