// SPDX-License-Identifier: MIT
// Writes random circuits for ngspice beside what we compute of them: circuit_netlist FOLDER COUNT
// SEED. One line a circuit: number, outcome, opened, hold-off, rail fall (s), release threshold,
// latch level, main threshold (V).
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
    const Values values = random_values(seed + number);
    const std::string base = folder + "/" + std::to_string(number);
    std::ofstream(base + ".piecewise.cir")
        << netlist(values, Models::piecewise, base + ".piecewise");
    std::ofstream(base + ".full.cir") << netlist(values, Models::full, base + ".full");
    const Transient result = simulate(values);
    std::cout << number << '\t' << text_of(result.outcome) << '\t' << result.opened_at << '\t'
              << result.hold_off << '\t' << result.rail_fall << '\t'
              << values.parts.release_threshold << '\t' << result.latch_level << '\t'
              << values.parts.main_threshold << '\n';
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
