// SPDX-License-Identifier: MIT
// Source: IEEE 1364-2005, clause 18. What an independent reader makes of it: tests/system/wave.
#include "reads.hpp"
#include "support/random_timeline.hpp"
#include "wave/vcd_reader.hpp"
#include "wave/vcd_writer.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::wave;
using namespace std::chrono_literals;

namespace {

/// A press at the tide gauge that is held, let go and followed by a refusal.
Timeline refused_press() {
    Timeline timeline;
    timeline.end = 9s;
    timeline.raw = {{0s, std::nullopt},
                    {1ms, Level::inactive},
                    {1s, Level::active},
                    {1s + 200us, Level::inactive},
                    {1s + 300us, Level::active},
                    {5s, Level::inactive}};
    timeline.settled = {{0s, std::nullopt},
                        {31ms, Level::inactive},
                        {1s + 30ms, Level::active},
                        {5s + 160ms, Level::inactive}};
    timeline.cues = {{0s, "waiting", "waiting"},
                     {31ms, "rest", "rest"},
                     {1s + 30ms, "holding", "holding"},
                     {4s, "ready", "ready"},
                     {5s + 160ms, "leaving", "asked"},
                     {5s + 200ms, "refused", "refused"}};
    timeline.marks = {{4s, MarkKind::remark, "now let go"},
                      {5s + 160ms, MarkKind::decision, "off"},
                      {5s + 160ms, MarkKind::request, "power-off"},
                      {5s + 200ms, MarkKind::answer, "refused"}};
    return timeline;
}

/// The edges of the line itself, as the capture's own description has them (wave/capture.hpp).
std::optional<Capture> capture_of(const Timeline& timeline) {
    Capture capture{"nightlatch.button", Level::inactive, {}, timeline.end, 0};
    std::optional<Level> level;
    for (std::size_t i = 0; i < timeline.raw.size(); ++i) {
        const LevelChange& change = timeline.raw[i];
        const bool last_of_its_time =
            i + 1 == timeline.raw.size() || timeline.raw[i + 1].at != change.at;
        if (!last_of_its_time || !change.level) {
            continue;
        }
        if (!level) {
            capture.at_start = *change.level;
        } else if (*level != *change.level) {
            capture.edges.push_back({change.at, *change.level});
        }
        level = change.level;
    }
    return level ? std::optional(capture) : std::nullopt;
}

}  // namespace

TEST_CASE("a timeline is written as a dump of wires, reproducibly", "[wave]") {
    CHECK(write_vcd(refused_press()) == "$version Nightlatch $end\n"
                                        "$comment button, settled: 1 is pressed $end\n"
                                        "$timescale 1 ns $end\n"
                                        "$scope module nightlatch $end\n"
                                        "$var wire 1 ! button $end\n"
                                        "$var wire 1 \" settled $end\n"
                                        "$var wire 1 # request $end\n"
                                        "$var wire 1 $ cue_waiting $end\n"
                                        "$var wire 1 % cue_rest $end\n"
                                        "$var wire 1 & cue_holding $end\n"
                                        "$var wire 1 ' cue_ready $end\n"
                                        "$var wire 1 ( cue_leaving $end\n"
                                        "$var wire 1 ) cue_refused $end\n"
                                        "$var event 1 * decision $end\n"
                                        "$upscope $end\n"
                                        "$enddefinitions $end\n"
                                        "#0\n$dumpvars\nx!\nx\"\n0#\n1$\n0%\n0&\n0'\n0(\n0)\n$end\n"
                                        "#1000000\n0!\n"
                                        "#31000000\n0\"\n0$\n1%\n"
                                        "#1000000000\n1!\n"
                                        "#1000200000\n0!\n"
                                        "#1000300000\n1!\n"
                                        "#1030000000\n1\"\n0%\n1&\n"
                                        "#4000000000\n0&\n1'\n"
                                        "#5000000000\n0!\n"
                                        "#5160000000\n0\"\n1#\n0'\n1(\n1*\n"
                                        "#5200000000\n0#\n0(\n1)\n"
                                        "#9000000000\n");
}

TEST_CASE("the dump reads back with every signal in it", "[wave]") {
    const std::string text = write_vcd(refused_press());
    CHECK(vcd_signals(text) == std::vector<std::string>{"nightlatch.button",
                                                        "nightlatch.settled",
                                                        "nightlatch.request",
                                                        "nightlatch.cue_waiting",
                                                        "nightlatch.cue_rest",
                                                        "nightlatch.cue_holding",
                                                        "nightlatch.cue_ready",
                                                        "nightlatch.cue_leaving",
                                                        "nightlatch.cue_refused"});
    CHECK(test::edges_of(read_vcd(text, "request")) ==
          "low 5160000000 high 5200000000 low; end 9000000000");
    CHECK(test::edges_of(read_vcd(text, "cue_ready")) ==
          "low 4000000000 high 5160000000 low; end 9000000000");
    CHECK(test::edges_of(read_vcd(text, "settled")) ==
          "low 1030000000 high 5160000000 low; end 9000000000");
}

TEST_CASE("a request that nobody answers lasts to the end", "[wave]") {
    Timeline timeline = refused_press();
    timeline.cues.pop_back();
    CHECK(test::edges_of(read_vcd(write_vcd(timeline), "request")) ==
          "low 5160000000 high; end 9000000000");
}

TEST_CASE("an empty timeline is a dump too", "[wave]") {
    const CaptureRead got = read_vcd(write_vcd(Timeline{}), "request");
    CHECK(test::edges_of(got) == "low; end 0");
}

TEST_CASE("a cue's word becomes an identifier", "[wave]") {
    Timeline timeline;
    timeline.cues = {{0s, "not now.$end", ""}};
    CHECK(vcd_signals(write_vcd(timeline)).back() == "nightlatch.cue_not_now__end");
}

TEST_CASE("what is written reads back with the same edges", "[wave][property]") {
    test::Dice dice(test::seed_for("dumps written and read"));
    std::size_t edges = 0;
    for (int i = 0; i < 300; ++i) {
        const Timeline timeline = test::random_timeline(dice, 1ns, 30'000'000'000);
        const CaptureRead got = read_vcd(write_vcd(timeline), "button");
        const std::optional<Capture> expected = capture_of(timeline);
        INFO(write_vcd(timeline));
        REQUIRE(got.capture.has_value() == expected.has_value());
        if (expected) {
            CHECK(got.problems.empty());
            CHECK(got.capture->at_start == expected->at_start);
            CHECK(got.capture->edges == expected->edges);
            CHECK(got.capture->end == expected->end);
            edges += expected->edges.size();
        }
    }
    CHECK(edges > 1'000);
}
