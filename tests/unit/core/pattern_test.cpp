// SPDX-License-Identifier: MIT
#include "core/pattern.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace std::chrono_literals;

namespace {

constexpr Instant since{10s};

}  // namespace

TEST_CASE("off and on stay as they are") {
    const PatternStep off = step_of({PatternKind::off, {}, {}}, since, since + 1h);
    CHECK(off.level == Level::inactive);
    CHECK(off.until == never);
    const PatternStep on = step_of({PatternKind::on, {}, {}}, since, since);
    CHECK(on.level == Level::active);
    CHECK(on.until == never);
}

TEST_CASE("blink goes on and off for ever, and says when it changes") {
    const Pattern blink{PatternKind::blink, 100ms, 150ms};
    for (const Duration lap : {0ms, 250ms, 250ms * 1'000}) {
        const PatternStep lit = step_of(blink, since, since + lap);
        CHECK(lit.level == Level::active);
        CHECK(lit.until == since + lap + 100ms);
        const PatternStep dark = step_of(blink, since, since + lap + 100ms);
        CHECK(dark.level == Level::inactive);
        CHECK(dark.until == since + lap + 250ms);
    }
}

TEST_CASE("pulse plays once") {
    const Pattern pulse{PatternKind::pulse, 50ms, 50ms};
    CHECK(step_of(pulse, since, since).level == Level::active);
    CHECK(step_of(pulse, since, since).until == since + 50ms);
    CHECK(step_of(pulse, since, since + 50ms).level == Level::inactive);
    CHECK(step_of(pulse, since, since + 100ms).level == Level::inactive);
    CHECK(step_of(pulse, since, since + 50ms).until == never);
}
