// SPDX-License-Identifier: MIT
#include "picture/diagram_axis.hpp"
#include "picture/diagram_text.hpp"
#include "picture/diagram_ticks.hpp"

#include <algorithm>

#include <catch2/catch_approx.hpp>
#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::picture;
using namespace nightlatch::wave;
using namespace nightlatch::picture::svg;
using namespace std::chrono_literals;

namespace {

/// Presses of `held`, one every `period`.
Timeline presses(std::size_t count, Duration period, Duration held) {
    Timeline timeline;
    timeline.end = period * static_cast<int>(count);
    timeline.thresholds = {{"off", 3s, "power-off"}};
    timeline.raw.push_back({0s, Level::inactive});
    timeline.holds.reserve(count);
    for (std::size_t i = 0; i < count; ++i) {
        const Duration begin = period * static_cast<int>(i) + period / 2;
        timeline.holds.push_back({begin, begin + held});
        timeline.raw.push_back({begin, Level::active});
        timeline.raw.push_back({begin + held, Level::inactive});
        timeline.marks.push_back({begin + held, MarkKind::decision, "off"});
    }
    timeline.settled = timeline.raw;
    timeline.cues = {{0s, "rest", "rest"}};
    return timeline;
}

/// Pieces and cuts follow each other from 0 to the end, and have the one scale.
void check_whole(const Timeline& timeline, const Axis& axis) {
    std::vector<Span> all;
    all.reserve(axis.pieces.size() + axis.cuts.size());
    for (const Piece& piece : axis.pieces) {
        all.push_back(piece.time);
        const double length = seconds(piece.time.end) - seconds(piece.time.begin);
        CHECK(piece.right - piece.left == Catch::Approx(length * axis.per_second).margin(1e-3));
        CHECK(piece.left >= plot_left);
        CHECK(piece.right <= axis.across.plot_right + 0.1);
        CHECK(piece.strip < axis.strips);
    }
    for (const Cut& cut : axis.cuts) {
        all.push_back(cut.time);
        CHECK(cut.left + cut_width <= axis.across.label_right);
    }
    std::sort(
        all.begin(), all.end(), [](const Span& a, const Span& b) { return a.begin < b.begin; });
    Duration at{};
    for (const Span& span : all) {
        CHECK(span.begin == at);
        at = span.end;
    }
    CHECK(at == timeline.end);
    CHECK(axis.drawn() + axis.left_out() == timeline.end);
}

}  // namespace

TEST_CASE("a short timeline is drawn as a whole", "[diagram]") {
    const Timeline timeline = presses(2, 6s, 3400ms);
    const Axis axis = plan_axis(timeline);
    CHECK(axis.cuts.empty());
    CHECK(axis.strips == 1);
    check_whole(timeline, axis);
}

TEST_CASE("what is drawn and what is left out make the whole, at one scale", "[diagram]") {
    for (const std::size_t count : {1U, 3U, 9U, 24U, 25U, 400U}) {
        for (const Duration period : {Duration(4s), Duration(20s), Duration(1h)}) {
            const Timeline timeline = presses(count, period, 3400ms);
            INFO(count << " presses, one every " << seconds(period) << " s");
            check_whole(timeline, plan_axis(timeline));
            check_whole(timeline, plan_axis(timeline, narrow_page));
        }
    }
}

TEST_CASE("a break leaves out a stretch in which nothing happens", "[diagram]") {
    const Timeline timeline = presses(3, 1h, 3400ms);
    const Axis axis = plan_axis(timeline);
    REQUIRE(axis.cuts.size() == 4);
    for (const Cut& cut : axis.cuts) {
        CHECK(cut.idle);
        for (const Duration moment : moments_of(timeline)) {
            CHECK((moment <= cut.time.begin || moment >= cut.time.end));
        }
    }
}

TEST_CASE("too many presses are not drawn, and the break counts them", "[diagram]") {
    const Timeline timeline = presses(7284, 72min, 3400ms);
    const Axis axis = plan_axis(timeline);
    const auto cut =
        std::find_if(axis.cuts.begin(), axis.cuts.end(), [](const Cut& one) { return !one.idle; });
    REQUIRE(cut != axis.cuts.end());
    CHECK(cut->presses == 7272);
    CHECK(cut->marks == 7272);
    CHECK(axis.strips <= 10);
    check_whole(timeline, axis);
}

TEST_CASE("a strip ends before a press rather than within it", "[diagram]") {
    const Timeline timeline = presses(12, 5s, 2400ms);
    const Axis axis = plan_axis(timeline);
    REQUIRE(axis.strips > 1);
    for (std::size_t i = 0; i + 1 < axis.pieces.size(); ++i) {
        for (const Hold& hold : timeline.holds) {
            const Duration end = axis.pieces[i].time.end;
            CHECK((end <= hold.begin || end >= hold.end));
        }
    }
}

TEST_CASE("a timeline without length has an axis all the same", "[diagram]") {
    const Axis axis = plan_axis({});
    CHECK(axis.strips == 1);
    CHECK(axis.pieces.size() == 1);
}

TEST_CASE("the texts of ticks do not meet, and every piece that has room for one has one",
          "[diagram]") {
    const Timeline timeline = presses(5, 1h, 3400ms);
    const Axis axis = plan_axis(timeline);
    const std::vector<Tick> ticks = ticks_of({timeline, axis}, 0);
    double end = 0;
    for (const Tick& tick : ticks) {
        const double half = width_of(tick.text, Font::small) / 2;
        CHECK((tick.text.empty() || tick.x - half >= end));
        end = tick.text.empty() ? end : tick.x + half;
    }
    for (const Piece& piece : axis.pieces_of(0)) {
        CHECK((piece.right - piece.left < 60 ||
               std::any_of(ticks.begin(), ticks.end(), [&](const Tick& tick) {
                   return !tick.text.empty() && tick.x >= piece.left && tick.x <= piece.right;
               })));
    }
}
