// SPDX-License-Identifier: MIT
#include "daemon/gpio/output_line.hpp"
#include "support/fake_gpiod.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators.hpp>
#include <gpiod.h>

using namespace nightlatch;
using test::FakeGpio;
using test::FakeLine;

TEST_CASE("a cue's line is driven inactive first, then as it is told", "[gpio]") {
    const bool active_low = GENERATE(false, true);
    FakeGpio gpio;
    FakeLine& buzzer = gpio.add(0, "soc-gpio", {"", "BUZZER"}).lines[1];
    buzzer.high = !active_low;  // left active by whoever had it before
    gpio::OutputLine line(gpio.places());

    const auto facts = line.open({"soc-gpio", "BUZZER"}, active_low);
    REQUIRE(facts);
    CHECK(facts->offset == 1);
    CHECK(buzzer.request->direction == GPIOD_LINE_DIRECTION_OUTPUT);
    CHECK(buzzer.request->edges == GPIOD_LINE_EDGE_NONE);
    CHECK(buzzer.request->consumer == "nightlatch");
    CHECK(buzzer.high == active_low);

    CHECK(line.set(Level::active));
    CHECK(buzzer.high == !active_low);
    CHECK(line.set(Level::inactive));
    CHECK(buzzer.high == active_low);
    line.close();
    CHECK(gpio.open_requests == 0);
}

TEST_CASE("a cue's line needs no interrupt", "[gpio]") {
    FakeGpio gpio;
    gpio.add(0, "expander", {"LAMP"}).lines[0].interrupt = false;
    gpio::OutputLine line(gpio.places());
    CHECK(line.open({"expander", "LAMP"}, false));
}

TEST_CASE("a cue's line that is held, closed or gone says so", "[gpio]") {
    FakeGpio gpio;
    FakeLine& lamp = gpio.add(0, "expander", {"LAMP"}).lines[0];
    gpio::OutputLine line(gpio.places());
    CHECK(line.set(Level::active).error().trouble == Trouble::gone);
    lamp.user = "leds";
    CHECK(line.open({"expander", "LAMP"}, false).error().trouble == Trouble::busy);
    lamp.user.reset();
    REQUIRE(line.open({"expander", "LAMP"}, false));
    gpio.remove(0);
    CHECK(line.set(Level::active).error().trouble == Trouble::gone);
}
