// SPDX-License-Identifier: MIT
// Curves made by hand, and the whole picture of each: tests/golden/curves/NAME.svg. To look at one,
// open it in a browser, on a light page, on a dark one, and in the preview of a print.
#include "picture/curves.hpp"

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iterator>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::picture;
using namespace nightlatch::wave;

namespace {

void check_curves(const std::string& name,
                  const std::vector<CurvePanel>& panels,
                  const DiagramTitle& title) {
    const std::string picture = draw_curves(panels, title);
    const std::string path = std::string(GOLDEN_FOLDER) + "/curves/" + name + ".svg";
    if (std::getenv("UPDATE_GOLDEN") != nullptr) {
        std::ofstream(path, std::ios::binary) << picture;
    }
    std::ifstream file(path, std::ios::binary);
    REQUIRE(file.is_open());
    CHECK(picture == std::string(std::istreambuf_iterator<char>(file), {}));
}

/// Falls from `value` by halves, so that every machine computes the same numbers.
std::vector<CurvePoint> halving(double from, double to, double half_life, double value) {
    std::vector<CurvePoint> points;
    constexpr int steps = 64;
    points.reserve(steps + 1);
    for (int i = 0; i <= steps; ++i) {
        const double at = from + (to - from) * i / steps;
        const double lives = (at - from) / half_life;
        // Straight between whole halvings.
        const double whole = std::floor(lives);
        points.push_back(
            {at, std::ldexp(value, -static_cast<int>(whole)) * (1 - (lives - whole) / 2)});
    }
    return points;
}

/// The rail at 5 V until it is switched off after 20 ms, the capacitor charged until then.
CurvePanel switching_off(double end, double rail_half, double hold_half) {
    CurvePanel panel;
    panel.unit = "V";
    panel.end = end;
    Curve rail{"rail", halving(0.02, end, rail_half, 5.0)};
    rail.points.insert(rail.points.begin(), {0.0, 5.0});
    Curve hold{"hold capacitor", halving(0.02, end, hold_half, 2.5)};
    hold.points.insert(hold.points.begin(), {{0.0, 0.0}, {0.01, 1.6}});
    panel.curves = {
        hold, rail, {"post-halt line", {{0.0, 3.3}, {0.03, 3.3}, {0.03, 0.0}, {end, 0.0}}}};
    panel.levels = {{"release threshold 1.5 V", 1.5}, {"the latch switches on above 1.2 V", 1.2}};
    return panel;
}

}  // namespace

TEST_CASE("the picture of a supply that stays off and of one that comes back", "[curves][golden]") {
    CurvePanel good = switching_off(0.9, 0.05, 1.1);
    good.name = "With typical parts";
    good.about = "The supply stays off; margin 700 ms";
    good.spans = {{"the supply opens: 20 ms", 0.0, 0.02},
                  {"the rail falls: 110 ms", 0.02, 0.13},
                  {"the release is held: 810 ms", 0.02, 0.83},
                  {"margin: 700 ms", 0.13, 0.83}};
    good.detail = 0.15;
    CurvePanel bad = switching_off(0.4, 0.15, 0.15);
    bad.name = "At the worst corner of all tolerances";
    bad.about = "The supply comes back";
    bad.spans = {{"the supply opens: 20 ms", 0.0, 0.02},
                 {"the rail falls: 330 ms", 0.02, 0.35},
                 {"the release is held: 120 ms", 0.02, 0.14},
                 {"missing: 210 ms", 0.14, 0.35}};
    check_curves("switching-off",
                 {bad, good},
                 {"Not in the worst case: 9,930 of 10,000 circuits stay off.",
                  "Switching off: tide-logger.toml"});
}

TEST_CASE("the picture of crowded levels, hostile names and values that are none",
          "[curves][golden]") {
    CurvePanel odd;
    odd.name = "<b>\x1b[31m & co";
    odd.about = std::string(300, 'w');
    odd.unit = "mA";
    odd.end = 3600;
    odd.curves = {{"falls <out>", {{0, 8}, {1800, 2}, {NAN, 3}, {2000, INFINITY}, {4000, 1}}},
                  {"nothing", {}},
                  {"third", {{0, 1}, {3600, 1}}},
                  {"fourth", {{0, 6}, {3600, 7}}}};
    odd.levels = {{"one", 5.0},
                  {"two", 5.01},
                  {"three", 4.99},
                  {"none", NAN},
                  {std::string(200, 'x'), 0.02},
                  {"zero", 0.0}};
    odd.spans = {
        {"beyond the end", 1000, 9000},
        {"backwards", 30, 20},
        {"all of it, and with a name that has no room to the right or to the left of it", 0, 3600}};
    CurvePanel empty;
    empty.end = -1;
    check_curves("odd", {odd, empty}, {"", ""});
}
