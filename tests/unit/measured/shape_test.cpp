// SPDX-License-Identifier: MIT
#include "circuit/draw.hpp"
#include "measured/shape.hpp"
#include "support/seeds.hpp"

#include <cmath>
#include <functional>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_floating_point.hpp>

using namespace nightlatch;
using namespace nightlatch::measured;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

/// As a scope with eight bits and noise sees a function of time.
CapturedCurve seen(const std::function<double(double)>& volts, double noise, std::uint64_t seed) {
    circuit::Draw draw(seed);
    constexpr int samples = 4'000;
    constexpr double length = 4.0;
    constexpr double step = 6.4 / 256.0;
    std::vector<VoltPoint> points;
    for (int i = 0; i < samples; ++i) {
        const double at = length * i / samples;
        double random = -6.0;  // of twelve uniform ones, nearly normal
        for (int k = 0; k < 12; ++k) {
            random += draw.uniform();
        }
        points.push_back({at, std::round((volts(at) + noise * random) / step) * step});
    }
    return CapturedCurve(std::move(points));
}

constexpr double opens = 0.5;

/// 5 V, then 100 V/s down to 3.2 V, then an RC of 0.2 s.
double rail_at(double time) {
    const double since = time - opens;
    if (since < 0.0) {
        return 5.0;
    }
    const double straight = 5.0 - 100.0 * since;
    return straight > 3.2 ? straight : 3.2 * std::exp(-(since - 0.018) / 0.2);
}

double line_at(double time) {
    return time >= opens - 0.01 && time < opens + 0.017 ? 3.3 : 0.0;
}

double hold_at(double time) {
    if (time < opens - 0.01) {
        return 0.0;
    }
    return time < opens + 0.017 ? 2.9 : 2.9 * std::exp(-(time - opens - 0.017) / 1.7);
}

}  // namespace

TEST_CASE("what a noisy capture with eight bits shows of a switching-off", "[measured]") {
    circuit::Draw draw(test::seed_for("noise of an oscilloscope"));
    for (int i = 0; i < 20; ++i) {
        const double noise = 0.02 * draw.uniform();
        const double offset = 0.1 * (draw.uniform() - 0.5);
        const auto seed = static_cast<std::uint64_t>(1e6 * draw.uniform());
        CAPTURE(noise, offset, seed);
        const Waves waves{
            seen(line_at, noise, seed),
            seen([&](double time) { return hold_at(time) + offset; }, noise, seed + 1),
            seen(rail_at, noise, seed + 2)};
        const Shape shape = shape_of(waves, {3.3, 3.3, 5.0, true});
        REQUIRE(shape.rail);
        REQUIRE(shape.rail->falls);
        CHECK_THAT(*shape.rail->falls, WithinAbs(opens, 0.002));
        REQUIRE(shape.rail->slope);
        CHECK_THAT(shape.rail->slope->per_second, WithinRel(100.0, 0.05));
        CHECK_FALSE(shape.rail->turns);
        REQUIRE(shape.line);
        REQUIRE(shape.line->rises);
        CHECK_THAT(*shape.line->rises, WithinAbs(opens - 0.01, 0.002));
        REQUIRE(shape.line->dies);
        CHECK_THAT(*shape.line->dies, WithinAbs(opens + 0.017, 0.002));
        REQUIRE(shape.decay);
        CHECK_THAT(shape.decay->tau, WithinRel(1.7, 0.02));
        CHECK(shape.decay->tau_least <= 1.72);
        CHECK(shape.decay->tau_most >= 1.68);
    }
}

TEST_CASE("a rail that comes back is seen where it turns", "[measured]") {
    const auto back = [](double time) { return time < 0.9 ? rail_at(time) : 4.9; };
    const Shape shape = shape_of({{}, {}, seen(back, 0.01, 3)}, {3.3, 3.3, 5.0, true});
    REQUIRE(shape.rail);
    REQUIRE(shape.rail->turns);
    CHECK_THAT(*shape.rail->turns, WithinAbs(0.9, 0.03));
    CHECK_THAT(shape.rail->turns_at, WithinAbs(rail_at(0.9), 0.06));
}

TEST_CASE("the line's inactive time before the rail falls is not its death", "[measured]") {
    const auto pulses = [](double time) {
        return (time > 0.1 && time < 0.2) || (time > 0.3 && time < opens + 0.017) ? 3.3 : 0.0;
    };
    const Waves waves{seen(pulses, 0.01, 5), {}, seen(rail_at, 0.01, 6)};
    const Shape shape = shape_of(waves, {3.3, 3.3, 5.0, true});
    REQUIRE(shape.line->dies);
    CHECK_THAT(*shape.line->dies, WithinAbs(opens + 0.017, 0.002));
}

TEST_CASE("a capture that begins after the fall has no beginning of it", "[measured]") {
    const auto late = [](double time) { return rail_at(time + opens + 0.01); };
    const Shape shape = shape_of({{}, {}, seen(late, 0.0, 1)}, {3.3, 3.3, 5.0, true});
    REQUIRE(shape.rail);
    CHECK_FALSE(shape.rail->falls);
    CHECK_FALSE(shape.rail->slope);
}
