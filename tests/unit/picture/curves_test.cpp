// SPDX-License-Identifier: MIT
#include "drawn.hpp"
#include "picture/curves.hpp"
#include "picture/curves_labels.hpp"
#include "picture/curves_scale.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_floating_point.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::picture;
using namespace nightlatch::wave;
using namespace nightlatch::picture::svg;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::WithinAbs;

namespace {

const Box plot{70, 100, 860, 250};

bool apart(const Box& a, const Box& b) {
    return a.x + a.width <= b.x || b.x + b.width <= a.x || a.y + a.height <= b.y ||
           b.y + b.height <= a.y;
}

bool inside(const Box& box) {
    return box.x >= plot.x && box.x + box.width <= plot.x + plot.width && box.y >= plot.y &&
           box.y + box.height <= plot.y + plot.height;
}

}  // namespace

TEST_CASE("names of levels that crowd each other are moved apart, in their order", "[curves]") {
    const std::vector<double> free = moved_apart({120, 200, 300}, 15, 100, 350);
    CHECK(free == std::vector<double>{120, 200, 300});
    const std::vector<double> crowded = moved_apart({346, 347, 348}, 15, 100, 350);
    CHECK(crowded == std::vector<double>{320, 335, 350});
    const std::vector<double> high = moved_apart({90, 91}, 15, 100, 350);
    CHECK(high == std::vector<double>{100, 115});
    CHECK(moved_apart({}, 15, 100, 350).empty());
}

TEST_CASE("a curve's height is straight between its points, and goes on level beyond its ends",
          "[curves]") {
    const Track2D track{{100, 300}, {200, 200}, {200, 120}, {400, 110}};
    CHECK_THAT(height_at(track, 150), WithinAbs(250, 1e-9));
    CHECK(height_at(track, 50) == 300);
    CHECK(height_at(track, 900) == 110);
    CHECK_THAT(height_at(track, 300), WithinAbs(115, 1e-9));
}

TEST_CASE("a name stands at its own curve, and meets no other curve, no line and no other name",
          "[curves]") {
    const std::vector<Track2D> tracks{{{70, 120}, {500, 130}, {930, 340}},
                                      {{70, 340}, {120, 150}, {930, 300}},
                                      {{70, 200}, {90, 200}, {90, 350}, {930, 350}}};
    const std::vector<std::string> names{"rail", "hold capacitor", "post-halt line"};
    const Ruled ruled{{230, 245}, {130, 400}};
    const std::vector<CurveLabel> labels = place_names(tracks, names, ruled, plot);
    REQUIRE(labels.size() == 3);
    for (std::size_t i = 0; i < labels.size(); ++i) {
        INFO(names[i]);
        const Box& box = labels[i].box;
        CHECK(inside(box));
        for (const double level : ruled.levels) {
            CHECK((level < box.y || level > box.y + box.height));
        }
        for (const double upright : ruled.uprights) {
            CHECK((upright <= box.x || upright >= box.x + box.width));
        }
        for (std::size_t k = 0; k < labels.size(); ++k) {
            if (k != i) {
                CHECK(apart(box, labels[k].box));
                const double left = height_at(tracks[k], box.x);
                const double right = height_at(tracks[k], box.x + box.width);
                CHECK(std::min(std::abs(left - box.y), std::abs(right - box.y)) > 1);
            }
        }
        // Not farther than its own height and a little.
        const double own = height_at(tracks[i], box.x + box.width / 2);
        CHECK(std::min(std::abs(own - box.y), std::abs(own - box.y - box.height)) < 30);
    }
}

namespace {

/// The least distance of a box from a track, looked for in small steps.
double nearest(const Box& box, const Track2D& track) {
    double least = 1e9;
    for (std::size_t i = 1; i < track.size(); ++i) {
        for (int step = 0; step <= 400; ++step) {
            const double part = step / 400.0;
            const double x = track[i - 1].x + part * (track[i].x - track[i - 1].x);
            const double y = track[i - 1].y + part * (track[i].y - track[i - 1].y);
            const double aside = std::max({box.x - x, x - box.x - box.width, 0.0});
            const double off = std::max({box.y - y, y - box.y - box.height, 0.0});
            least = std::min(least, std::hypot(aside, off));
        }
    }
    return least;
}

CurvePanel falling() {
    CurvePanel panel;
    panel.name = "With typical parts";
    panel.unit = "V";
    panel.end = 2.7;
    panel.detail = 0.07;
    panel.curves = {{"rail", {{0, 5}, {0.006, 5}, {0.06, 2}, {2.7, 0}}}};
    return panel;
}

}  // namespace

TEST_CASE("a name is nearer to its own curve than to any other", "[curves]") {
    // A worst corner: the line's steep end stands beside the hold capacitor's peak.
    const std::vector<Track2D> tracks{{{70, 448}, {97, 364}, {930, 376}},
                                      {{70, 208}, {91, 208}, {97, 278}, {250, 330}, {930, 432}},
                                      {{70, 291}, {97, 291}, {97, 448}, {930, 448}}};
    const std::vector<std::string> names{"hold capacitor", "rail", "post-halt line"};
    const Ruled ruled{{278, 375.5, 411}, {91.5, 630}};
    const std::vector<CurveLabel> labels = place_names(tracks, names, ruled, {70, 198, 860, 250});
    for (std::size_t i = 0; i < labels.size(); ++i) {
        for (std::size_t k = 0; k < tracks.size(); ++k) {
            INFO(names[i] << " beside " << names[k]);
            CHECK(
                (k == i || nearest(labels[i].box, tracks[i]) < nearest(labels[i].box, tracks[k])));
        }
    }
}

TEST_CASE("no level runs between a name and its curve", "[curves]") {
    // Typical parts: the capacitor's curve comes down upon the level at which the release ends.
    const std::vector<Track2D> tracks{{{70, 448}, {121, 375}, {457, 376}, {930, 393}}};
    const std::vector<std::string> names{"hold capacitor"};
    const Ruled ruled{{315, 366, 393}, {106, 406, 457}};
    const Box box = place_names(tracks, names, ruled, {70, 198, 860, 250}).front().box;
    const double curve = height_at(tracks[0], box.x + box.width / 2);
    for (const double level : ruled.levels) {
        INFO(level);
        CHECK((level < std::min(box.y, curve) || level > std::max(box.y + box.height, curve)));
    }
}

TEST_CASE("the beginning has a scale of its own, which the picture tells", "[curves]") {
    const CurvePanel panel = falling();
    const std::string svg = draw_curves(std::array{panel}, {"It stays off.", ""});
    const testing::Drawn drawn = testing::read_drawn(svg);
    const auto has = [&](const std::string& words) {
        return std::any_of(drawn.texts.begin(), drawn.texts.end(), [&](const auto& text) {
            return text.words == words;
        });
    };
    CHECK(has("the first 70 ms, stretched 31 times"));
    CHECK(has("20 ms"));
    CHECK(has("1 s"));
    const CurveScale scale(panel, 5, 300);
    CHECK_THAT(scale.x(0), WithinAbs(curves_left, 1e-9));
    CHECK_THAT(scale.x(0.07), WithinAbs(scale.split(), 1e-9));
    CHECK_THAT(scale.x(0.035), WithinAbs((curves_left + scale.split()) / 2, 1e-9));
    CHECK_THAT(scale.x(2.7), WithinAbs(curves_right, 1e-9));
    for (const double detail : {-1.0, 2.7, 9.0, std::numeric_limits<double>::quiet_NaN()}) {
        CurvePanel one_scale = panel;
        one_scale.detail = detail;
        CHECK_THAT(draw_curves(std::array{one_scale}, {"", ""}), !ContainsSubstring("stretched"));
    }
}

TEST_CASE("no line runs through the times and words below the curves", "[curves]") {
    const CurvePanel panel = falling();
    const testing::Drawn drawn =
        testing::read_drawn(draw_curves(std::array{panel}, {"It stays off.", ""}));
    const double floor = drawn.strokes_of("edge").front().box.y;
    for (const testing::DrawnText& text : drawn.texts) {
        for (const testing::DrawnStroke& stroke : drawn.strokes_of("axis")) {
            INFO(text.words);
            CHECK((text.box.y < floor || !testing::meet({stroke.box.x - 0.5,
                                                         stroke.box.y - 0.5,
                                                         stroke.box.width + 1,
                                                         stroke.box.height + 1},
                                                        text.box)));
        }
    }
}

TEST_CASE("a name that stands upon its bar does not touch it", "[curves]") {
    CurvePanel panel;
    panel.end = 0.1;
    panel.spans = {{"the rail falls to where the latch stays off: 212 ms", 0.01, 0.3}};
    const testing::Drawn drawn =
        testing::read_drawn(draw_curves(std::array{panel}, {"It comes back.", ""}));
    const auto name =
        std::find_if(drawn.texts.begin(), drawn.texts.end(), [](const testing::DrawnText& text) {
            return text.words.starts_with("the rail falls");
        });
    REQUIRE(name != drawn.texts.end());
    for (const testing::DrawnStroke& bar : drawn.strokes_of("edge")) {
        // As thick as it is drawn.
        CHECK_FALSE(testing::meet(name->box, {bar.box.x, bar.box.y - 0.8, bar.box.width, 1.6}));
    }
}

TEST_CASE("a curve has a corner where the time's scale changes", "[curves]") {
    CurvePanel panel = falling();
    panel.detail = 0.9;
    panel.curves = {{"rail", {{0, 4}, {2.7, 1}}}};
    // From 4 V down to 3 V at 0.9 s, in 45 % of the width, and to 1 V in the rest.
    CHECK_THAT(draw_curves(std::array{panel}, {"", ""}),
               ContainsSubstring("d=\"M70 34L457 96.5L930 221.5\""));
}

TEST_CASE("an axis has one unit", "[curves]") {
    CurvePanel panel = falling();
    panel.detail = 0;
    for (const double end : {0.0007, 0.004, 0.05, 0.22, 0.9, 1.0, 2.7, 30.0}) {
        panel.end = end;
        panel.curves = {};
        const testing::Drawn drawn = testing::read_drawn(draw_curves(std::array{panel}, {"", ""}));
        const std::string unit = end < 1 ? " ms" : " s";
        for (const testing::DrawnText& text : drawn.texts) {
            const bool of_time = text.words.ends_with("s") && text.words[0] <= '9';
            INFO(end << " s: " << text.words);
            CHECK((!of_time || text.words.ends_with(unit)));
        }
    }
}

TEST_CASE("what is read aloud of curves is sentences, each with one stop", "[curves]") {
    CurvePanel panel = falling();
    panel.about = "The supply stays off; margin 2.72 s";
    panel.spans = {{"margin: 2.72 s", 0.06, 2.7}};
    CurvePanel bare = falling();
    const std::string svg =
        draw_curves(std::array{panel, bare}, {"Yes: it stays off.", "Switching off: day.toml."});
    CHECK(testing::description_of(svg) ==
          "Curves against time. Switching off: day.toml. "
          "With typical parts: The supply stays off; margin 2.72 s. Margin: 2.72 s. "
          "With typical parts.");
}

TEST_CASE("a panel without a time, and values that are none, still give a picture", "[curves]") {
    constexpr double none = std::numeric_limits<double>::quiet_NaN();
    CurvePanel panel;
    panel.name = "a & b <c>";
    panel.end = none;
    panel.curves = {{"x", {{none, 1}, {0.5, none}, {-1, 2}, {7, 3}}}};
    panel.levels = {{"none", none}, {"below", -3}};
    panel.spans = {{"late", 5, 6}, {"none", none, 1}};
    const std::string picture = draw_curves({&panel, 1}, {"\x01", "two\nlines"});
    CHECK_THAT(picture, ContainsSubstring("a &amp; b &lt;c&gt;"));
    CHECK_THAT(picture, ContainsSubstring("two\\u000Alines"));
    CHECK_THAT(picture, !ContainsSubstring("nan") && !ContainsSubstring("inf"));
    CHECK_THAT(picture, !ContainsSubstring(">late<"));
    CHECK(picture.ends_with("</svg>\n"));
}

TEST_CASE("a curve of very many points does not make a very large picture", "[curves]") {
    CurvePanel panel;
    Curve curve{"ramp", {}};
    constexpr int points = 200'000;
    curve.points.reserve(points);
    for (int i = 0; i < points; ++i) {
        curve.points.push_back({i / double{points}, i % 7 / 7.0});
    }
    panel.curves = {curve};
    CHECK(draw_curves({&panel, 1}, {"ramp", ""}).size() < 300'000);
}

TEST_CASE("a band is shaded from its low to its high edge, behind the curves", "[curves]") {
    CurvePanel panel;
    panel.end = 2;
    panel.curves = {{"measured", {{0, 1}, {2, 1}}}};
    panel.band.points = {{0, 0.5, 2}, {1, std::numeric_limits<double>::quiet_NaN(), 9}, {2, 0, 2}};
    const std::string svg = draw_curves(std::array{panel}, {"Beside", ""});
    // Four corners: the plot is 860 wide from 70 on, its largest value 2 at the top, 250 above 0.
    const std::size_t band = svg.find("class=\"held\"");
    REQUIRE(band != std::string::npos);
    CHECK(svg.find("class=\"wave\"") > band);
    CHECK_THAT(svg, ContainsSubstring("d=\"M70 34L930 34L930 284L70 221.5Z\""));
}

TEST_CASE("a curve goes to the edges of its panel, wherever its points are", "[curves]") {
    CurvePanel panel;
    panel.end = 1;
    panel.curves = {{"rail", {{-1, 0}, {3, 4}}}};
    const std::string svg = draw_curves(std::array{panel}, {"Rail", ""});
    // From 1 at its beginning to 2 at its end.
    CHECK_THAT(svg, ContainsSubstring("d=\"M70 159L930 34\""));
}
