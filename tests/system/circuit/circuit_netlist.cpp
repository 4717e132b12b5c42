// SPDX-License-Identifier: MIT
// Writes random circuits for ngspice beside what we compute of them: circuit_netlist FOLDER COUNT
// SEED. Lines: "circuit" and its number, or "piecewise" or "full" with outcome, opened, hold-off,
// rail fall (s), release threshold, latch level, main threshold (V), and how well the release
// threshold can be read off ngspice's wave (V): "full" first as it is, then for thresholds a little
// off.
#include "circuit/netlist.hpp"
#include "circuit/transient.hpp"
#include "support/random_circuit.hpp"

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <iomanip>
#include <iostream>
#include <string>
#include <string_view>

using namespace nightlatch::circuit;

namespace {

/// An exponential diode has no knee and a square-law transistor no edge: as if a threshold were so
/// many volts elsewhere.
constexpr double shift = 0.1;

/// The deck's line takes 20 us to change and its switches are tens of microvolts wide.
constexpr double blur = 0.2e-3;

struct Shifts {
    double release = 0.0;
    double latch = 0.0;
};

double blur_of(std::string_view which, const Values& values) {
    return which == "full" ? std::max(release_overdrive(values), 0.02) : blur;
}

void print(std::string_view which, const Values& values, Shifts shifts) {
    Values moved = values;
    moved.parts.release_threshold += shifts.release;
    moved.parts.latch_threshold += shifts.latch;
    const Transient result = simulate(moved);
    std::cout << which << '\t' << text_of(result.outcome) << '\t' << result.opened_at << '\t'
              << result.hold_off << '\t' << result.rail_fall << '\t'
              << moved.parts.release_threshold << '\t' << result.latch_level << '\t'
              << moved.parts.main_threshold << '\t' << blur_of(which, values) << '\n';
}

void write_one(const std::string& folder, unsigned long number, unsigned long seed) {
    const Values values = random_values(seed + number);
    const std::string base = folder + "/" + std::to_string(number);
    std::ofstream(base + ".piecewise.cir")
        << netlist(values, Models::piecewise, base + ".piecewise");
    std::ofstream(base + ".full.cir") << netlist(values, Models::full, base + ".full");
    std::cout << "circuit\t" << number << '\n';
    print("piecewise", values, {});
    const Values effective = with_effective_thresholds(values);
    print("full", effective, {});
    for (const double release : {-shift, shift}) {
        for (const double latch : {-shift, shift}) {
            print("full", effective, {release, latch});
        }
    }
}

}  // namespace

int main(int argc, char** argv) {
    if (argc != 4) {
        std::cerr << "usage: circuit_netlist FOLDER COUNT SEED\n";
        return 2;
    }
    const unsigned long count = std::strtoul(argv[2], nullptr, 10);
    const unsigned long seed = std::strtoul(argv[3], nullptr, 10);
    std::cout << std::setprecision(12);
    for (unsigned long number = 0; number < count; ++number) {
        write_one(argv[1], number, seed);
    }
    return 0;
}
