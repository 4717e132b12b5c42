// SPDX-License-Identifier: MIT
// Any capture gives an answer whose numbers are finite, never a crash.
#include "measured/band.hpp"
#include "measured/compare.hpp"
#include "support/logger_circuit.hpp"
#include "support/seeds.hpp"
#include "unit/config/mutator.hpp"

#include <algorithm>
#include <cmath>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::measured;
using test::Dice;

namespace {

const std::vector<std::string> names{"line", "hold", "rail"};

std::string scope_text() {
    std::string text = "t (ms),line,hold (mV),rail\n";
    for (int i = 0; i < 60; ++i) {
        const bool on = i > 5 && i < 20;
        const int rail = i < 18 ? 5000 : std::max(5000 - 300 * (i - 18), 0);
        const int hold = i < 6 ? 0 : i < 20 ? 2900 : 2900 - 60 * (i - 20);
        text += std::to_string(i) + "," + (on ? "3.3" : "0.01") + "," + std::to_string(hold) + "," +
                std::to_string(rail) + " mV\n";
    }
    return text;
}

bool is_finite(const Quantity& one) {
    return !one.value || (std::isfinite(*one.value) && std::isfinite(one.least) &&
                          std::isfinite(one.most) && !std::isnan(one.computed.least) &&
                          !std::isnan(one.computed.typical) && !std::isnan(one.computed.most));
}

}  // namespace

TEST_CASE("damaged captures are compared with finite numbers, or not at all", "[measured][bytes]") {
    Dice dice(test::seed_for("damaged captures beside a circuit"));
    const std::vector<std::string> texts{scope_text()};
    const circuit::Circuit circuit = circuit::logger_circuit();
    unsigned compared = 0;
    unsigned values = 0;
    for (int i = 0; i < 3'000; ++i) {
        const std::string text = i == 0 ? texts.front() : test::mutated(dice, texts, texts);
        auto read = wave::read_volts({"scope.csv", text}, names);
        CHECK(read.curves.has_value() == std::none_of(read.problems.begin(),
                                                      read.problems.end(),
                                                      [](const auto& one) { return one.error; }));
        if (!read.curves) {
            continue;
        }
        const Waves waves{CapturedCurve((*read.curves)[0]),
                          CapturedCurve((*read.curves)[1]),
                          CapturedCurve((*read.curves)[2])};
        const Comparison comparison = compare(circuit, waves, 10e6);
        ++compared;
        for (const Quantity& one : comparison.quantities) {
            INFO(text);
            REQUIRE(is_finite(one));
            values += one.value ? 1U : 0U;
        }
    }
    CHECK(compared > 300);
    CHECK(values > 300);
}
