// SPDX-License-Identifier: MIT
#include "circuit/draw.hpp"
#include "hold_up/assess.hpp"
#include "hold_up/keys.hpp"
#include "support/seeds.hpp"

#include <algorithm>
#include <cmath>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_floating_point.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::hold_up;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::WithinRel;

namespace {

/// The tide gauge's reserve on its pontoon: a supercapacitor behind the mast's supply.
HoldUp reserve() {
    HoldUp hold_up;
    hold_up.capacity = {9.0, 10.0, 13.0};
    hold_up.end_of_life = {0.7, 1.0, 1.0};
    hold_up.esr = {0.03, 0.03, 0.06};
    hold_up.from_voltage = {4.9, 5.0, 5.1};
    hold_up.cut_out = Spread::exactly(2.7);
    hold_up.efficiency = {0.80, 0.84, 0.88};
    hold_up.power = {2.5, 3.0, 3.5};
    hold_up.time_to_go_down = Spread::exactly(12.0);
    hold_up.noticed_after = Spread::exactly(2.0);
    return hold_up;
}

Notice by_alarm() {
    return {Notice::By::alarm, "supply low", false, 0.03};
}

/// Steps through time, knowing nothing of closed forms: the terminals' voltage v = V - i R at which
/// they give the power.
double stepped(const Exact& exact) {
    constexpr double parts = 200'000.0;
    const double nominal =
        exact.capacitance * exact.from * exact.from / 2.0 / std::max(exact.power, 1e-6);
    const double step = nominal / parts;
    double voltage = exact.from;
    for (double time = 0.0;; time += step) {
        const double under_root = voltage * voltage - 4.0 * exact.esr * exact.power;
        if (under_root < 0.0) {
            return time;
        }
        const double terminals = (voltage + std::sqrt(under_root)) / 2.0;
        if (terminals <= exact.to) {
            return time;
        }
        voltage -= exact.power / terminals / exact.capacitance * step;
    }
}

}  // namespace

TEST_CASE("a capacitor at constant power lasts as long as its energy", "[hold_up]") {
    // t = C (V1^2 - V2^2) / (2 P), as makers of supercapacitors publish it, from E = C V^2 / 2.
    Exact exact{10.0, 0.0, 5.0, 2.5, 3.0, 0.0, 1.0};
    CHECK_THAT(lasts(exact), WithinRel(10.0 * (25.0 - 6.25) / 6.0, 1e-12));
    CHECK(ends_at(exact) == 2.5);
    // Behind a converter of 80 % the board's 3 W are 3.75 W.
    exact.power = 3.0 / 0.8;
    CHECK_THAT(lasts(exact), WithinRel(0.8 * 10.0 * (25.0 - 6.25) / 6.0, 1e-12));
}

TEST_CASE("a capacitor at constant current lasts C dV / I, less what its ESR drops", "[hold_up]") {
    // dV = I R + I t / C, the other published formula.
    const Exact exact{2.0, 0.1, 5.0, 3.0, 0.0, 0.5, 1.0};
    CHECK_THAT(lasts(exact), WithinRel(2.0 * (5.0 - 3.0 - 0.05) / 0.5, 1e-12));
}

TEST_CASE("with an ESR the closed form is what small steps come to", "[hold_up]") {
    circuit::Draw draw(test::seed_for("stores with an ESR"));
    int collapsed = 0;
    for (int i = 0; i < 60; ++i) {
        Exact exact;
        exact.capacitance = std::pow(10.0, -1.0 + 3.0 * draw.uniform());
        exact.from = 2.5 + 10.0 * draw.uniform();
        exact.to = exact.from * (0.2 + 0.6 * draw.uniform());
        exact.power = 0.5 + 10.0 * draw.uniform();
        exact.esr = exact.from * exact.from / (4.0 * exact.power) * 0.8 * draw.uniform();
        CAPTURE(exact.capacitance, exact.from, exact.to, exact.power, exact.esr);
        collapsed += exact.to * exact.to < exact.esr * exact.power ? 1 : 0;
        const double expected = stepped(exact);
        CHECK(std::abs(lasts(exact) - expected) <=
              std::max(2e-3 * expected, 2e-5 * exact.capacitance * exact.from * exact.from));
    }
    CHECK(collapsed > 2);  // the power that the ESR lets through ends it before the cut-out does
}

TEST_CASE("what cannot begin holds nothing up, and says so", "[hold_up]") {
    HoldUp hold_up = reserve();
    hold_up.esr = Spread::exactly(5.0);  // at most 25 / (4 * 5) = 1.25 W
    const Assessed assessed = assess(hold_up, by_alarm());
    CHECK(assessed.worst.lasts == 0.0);
    REQUIRE(assessed.findings.size() == 1);
    CHECK(assessed.findings.front().id == "hold-up-none");
    CHECK_THAT(assessed.findings.front().sentence, ContainsSubstring("holds nothing up"));
    CHECK_THAT(assessed.findings.front().remedy, ContainsSubstring("lower ESR"));
}

TEST_CASE("no store within the spreads has less than the worst corner", "[hold_up]") {
    circuit::Draw draw(test::seed_for("stores within their spreads"));
    for (const Unit unit : {Unit::farad, Unit::ampere_hour, Unit::watt_hour}) {
        HoldUp hold_up = reserve();
        hold_up.unit = unit;
        if (unit != Unit::farad) {
            hold_up.capacity = {0.02, 0.025, 0.03};
        }
        const double worst = worst_budget(hold_up).margin;
        double best = worst;
        for (int i = 0; i < 500; ++i) {
            HoldUp drawn = hold_up;
            for (const Key& key : keys()) {
                const Spread& spread = hold_up.*key.spread;
                // The voltages that define a cell's capacity stay where they are stated.
                const double place = draw.uniform();
                Spread& one = drawn.*key.spread;
                one.least = one.most = spread.at(place);
            }
            const double margin = worst_budget(drawn).margin;
            CHECK(margin >= worst - 1e-9);
            best = std::max(best, margin);
        }
        CHECK(best > worst + 1.0);
    }
}

TEST_CASE("the energy of the budget is all accounted for", "[hold_up]") {
    const Budget budget = worst_budget(reserve());
    CHECK_THAT(budget.lost_in_esr + budget.lost_in_converter + budget.for_board,
               WithinRel(budget.stored, 1e-12));
    CHECK_THAT(budget.for_board, WithinRel(3.5 * budget.lasts, 1e-12));
    CHECK_THAT(budget.margin, WithinRel(budget.lasts - 14.0, 1e-12));
}

TEST_CASE("a cell between two voltages holds its charge at their mean", "[hold_up]") {
    // 20 mAh from 3.6 V to 3.0 V: 72 C at 3.3 V on average, 237.6 J.
    HoldUp hold_up = reserve();
    hold_up.unit = Unit::ampere_hour;
    hold_up.capacity = Spread::exactly(0.02);
    hold_up.end_of_life = Spread::exactly(1.0);
    hold_up.from_voltage = Spread::exactly(3.6);
    hold_up.cut_out = Spread::exactly(3.0);
    hold_up.esr = Spread::exactly(0.0);
    CHECK_THAT(typical_budget(hold_up).stored, WithinRel(237.6, 1e-9));
    hold_up.unit = Unit::watt_hour;
    hold_up.capacity = Spread::exactly(0.05);
    CHECK_THAT(typical_budget(hold_up).stored, WithinRel(180.0, 1e-9));
}

TEST_CASE("each change is enough by itself, and a little less is not", "[hold_up]") {
    HoldUp hold_up = reserve();
    hold_up.noticed_after = Spread::exactly(6.0);
    hold_up.time_to_go_down = Spread::exactly(9.0);
    hold_up.margin = 0.5;
    const Assessed assessed = assess(hold_up, by_alarm());
    REQUIRE(assessed.findings.size() == 1);
    CHECK(assessed.findings.front().id == "hold-up");
    REQUIRE(assessed.changes.size() == 5);
    for (const Change& one : assessed.changes) {
        CAPTURE(one.words, one.line);
        CHECK(one.margin >= 0.5);
    }
    // It lasts 11.4 s of the 15.5 s that are needed: 10 F * 15.5 / 11.4 = 13.6 F, of E6 15 F.
    CHECK(assessed.changes[0].line == "capacity = \"13.5 F, 15 F, 19.5 F\"");
    CHECK(assessed.changes[1].line == "lasting = \"1.9 s\"");
    HoldUp less = hold_up;
    less.capacity = {9.0 * 1.35, 13.5, 13.0 * 1.35};
    CHECK(worst_budget(less).margin < 0.5);
}

TEST_CASE("a margin that is asked for is a demand", "[hold_up]") {
    HoldUp hold_up = reserve();
    hold_up.time_to_go_down = Spread::exactly(5.0);
    const double margin = worst_budget(hold_up).margin;
    REQUIRE(margin > 1.0);
    CHECK(assess(hold_up, by_alarm()).findings.empty());
    hold_up.margin = margin + 0.1;
    const Assessed assessed = assess(hold_up, by_alarm());
    REQUIRE(assessed.findings.size() == 1);
    CHECK(assessed.findings.front().id == "hold-up-margin");
    CHECK(assessed.findings.front().weight == circuit::Finding::Weight::failure);
}

TEST_CASE("a failure that only a person notices, and a lock that refuses, are told", "[hold_up]") {
    HoldUp hold_up = reserve();
    hold_up.time_to_go_down = Spread::exactly(1.0);
    Notice notice = by_alarm();
    notice.respects = true;
    Assessed assessed = assess(hold_up, notice);
    REQUIRE(assessed.findings.size() == 1);
    CHECK(assessed.findings.front().id == "hold-up-lock");
    CHECK(assessed.findings.front().weight == circuit::Finding::Weight::note);
    notice.by = Notice::By::button;
    assessed = assess(hold_up, notice);
    REQUIRE(assessed.findings.size() == 1);
    CHECK(assessed.findings.front().id == "hold-up-unnoticed");
    CHECK(assessed.findings.front().weight == circuit::Finding::Weight::warning);
}
