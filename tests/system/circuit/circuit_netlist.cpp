// SPDX-License-Identifier: MIT
// Writes random circuits for ngspice beside what we compute of them: circuit_netlist FOLDER COUNT
// SEED. A line each: number, outcome, opened, hold-off, rail fall (s), release level, latch level,
// the drive's level and the level at which the release begins (V).
#include "circuit/netlist.hpp"
#include "circuit/transient.hpp"
#include "support/random_circuit.hpp"

#include <cstdlib>
#include <fstream>
#include <iomanip>
#include <iostream>
#include <string>

using namespace nightlatch::circuit;

namespace {

void write_one(const std::string& folder, unsigned long number, unsigned long seed) {
    const Values values = random_values(seed + number, all_kinds[number % all_kinds.size()]);
    const std::string output = folder + "/" + std::to_string(number);
    std::ofstream(output + ".cir") << netlist(values, Models::piecewise, output);
    const Transient result = simulate(values);
    const Stages stages = stages_of(values);
    std::cout << number << '\t' << text_of(result.outcome) << '\t' << result.opened_at << '\t'
              << result.hold_off << '\t' << result.rail_fall << '\t' << result.release_level << '\t'
              << stages.latch_level << '\t' << stages.gate_opens << '\t' << result.release_begins
              << '\n';
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
