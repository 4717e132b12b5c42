// SPDX-License-Identifier: MIT
// Writes random stores and loads for ngspice beside how long we say that they last:
// hold_up_decks FOLDER COUNT SEED. Lines: number, seconds, the level that ends it (V).
#include "circuit/draw.hpp"
#include "hold_up/budget.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iomanip>
#include <iostream>
#include <string>

using namespace nightlatch::hold_up;

namespace {

Exact random_store(nightlatch::circuit::Draw& draw) {
    Exact exact;
    exact.capacitance = std::pow(10.0, -3.0 + 5.0 * draw.uniform());
    exact.from = 2.5 + 20.0 * draw.uniform();
    exact.to = exact.from * (0.3 + 0.6 * draw.uniform());
    const double load = std::pow(10.0, -1.0 + 2.0 * draw.uniform());
    if (draw.uniform() < 0.7) {
        exact.power = load;
        // Below the collapse: at the level that ends it the source still gives the power.
        const double collapse = exact.to * exact.to / load;
        const double start = (exact.from - exact.to) * exact.to / load;
        exact.esr = std::min(collapse, start) * 0.6 * draw.uniform();
    } else {
        exact.current = load;
        exact.esr = (exact.from - exact.to) / load * 0.5 * draw.uniform();
    }
    return exact;
}

/// The load knows nothing of how long it lasts: it draws P / v, or I, from the terminals.
void write_deck(std::ostream& deck, const Exact& exact, const std::string& output) {
    const double longest = exact.power > 0.0
                               ? exact.capacitance * exact.from * exact.from / 2.0 / exact.power
                               : exact.capacitance * exact.from / exact.current;
    deck << std::setprecision(12) << "a store carries a load\n"
         << "cstore store 0 " << exact.capacitance << " ic=" << exact.from << "\n"
         << "resr store out " << std::max(exact.esr, 1e-9) << "\n";
    if (exact.power > 0.0) {
        deck << "bload out 0 i=" << exact.power << "/max(v(out)," << 0.95 * exact.to << ")\n";
    } else {
        deck << "bload out 0 i=" << exact.current << "\n";
    }
    deck << ".options method=gear reltol=1e-6 abstol=1e-12\n"
         << ".tran " << longest / 2000.0 << " " << longest << " 0 " << longest / 2000.0 << " uic\n"
         << ".control\nrun\nset wr_singlescale\nwrdata " << output
         << " v(out)\nquit\n.endc\n.end\n";
}

}  // namespace

int main(int argc, char** argv) {
    if (argc != 4) {
        std::cerr << "usage: hold_up_decks FOLDER COUNT SEED\n";
        return 2;
    }
    const unsigned long count = std::strtoul(argv[2], nullptr, 10);
    nightlatch::circuit::Draw draw(std::strtoul(argv[3], nullptr, 10));
    std::cout << std::setprecision(12);
    for (unsigned long number = 0; number < count; ++number) {
        const Exact exact = random_store(draw);
        const std::string base = std::string(argv[1]) + "/" + std::to_string(number);
        std::ofstream deck(base + ".cir");
        write_deck(deck, exact, base);
        std::cout << number << '\t' << lasts(exact) << '\t' << exact.to << '\n';
    }
    return 0;
}
