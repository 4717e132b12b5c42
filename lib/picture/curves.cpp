// SPDX-License-Identifier: MIT
#include "picture/curves.hpp"

#include "picture/curves_labels.hpp"
#include "picture/curves_scale.hpp"
#include "picture/diagram_text.hpp"
#include "picture/frame.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace nightlatch::picture {
namespace {

using namespace svg;

constexpr double span_height = 19;
constexpr double panel_gap = 26;
constexpr double name_room = 15;
constexpr std::size_t longest_name = 300;   // bytes
constexpr std::size_t most_points = 4'000;  // of a curve
constexpr double longest_time = 9e8;        // s, what a Duration can hold of them ten times

/// A stroke for each curve, so that they are told apart in print and by everybody.
constexpr std::array<std::string_view, 4> strokes{"wave", "edge k1", "wave k2", "edge k3"};
constexpr std::string_view own_style = R"(<style>
.nightlatch .k1{stroke-dasharray:11 4}
.nightlatch .k2{stroke-dasharray:2 3}
.nightlatch .k3{stroke-dasharray:10 3 2 3}
</style>
)";

bool is_in(const CurvePoint& point, double end) {
    return std::isfinite(point.at) && std::isfinite(point.value) && point.at >= 0 &&
           point.at <= end;
}

double largest_value(const CurvePanel& panel) {
    double most = 0;
    for (const Curve& curve : panel.curves) {
        for (const CurvePoint& point : curve.points) {
            most = is_in(point, panel.end) ? std::max(most, point.value) : most;
        }
    }
    for (const CurveBand::Point& point : panel.band.points) {
        most = std::max(most, point.high);
    }
    for (const CurveLevel& level : panel.levels) {
        most = std::isfinite(level.value) ? std::max(most, level.value) : most;
    }
    return most > 0 ? most : 1;
}

/// A curve goes to the panel's edges, though its points lie beyond them.
void cut_at(std::vector<CurvePoint>& points, double time) {
    for (std::size_t i = 1; i < points.size(); ++i) {
        const CurvePoint before = points[i - 1];
        const CurvePoint after = points[i];
        if (before.at < time && after.at > time && std::isfinite(before.value) &&
            std::isfinite(after.value) && std::isfinite(after.at - before.at)) {
            const double part = (time - before.at) / (after.at - before.at);
            points.insert(points.begin() + static_cast<std::ptrdiff_t>(i),
                          {time, before.value + part * (after.value - before.value)});
            return;
        }
    }
}

/// What can be drawn: with a time above zero and texts and curves of bounded length.
CurvePanel tidied(CurvePanel panel) {
    if (!std::isfinite(panel.end) || panel.end <= 0 || panel.end > longest_time) {
        panel.end = 1;
    }
    if (!(panel.detail > 0 && panel.detail < panel.end)) {
        panel.detail = 0;
    }
    for (Curve& curve : panel.curves) {
        curve.name = limited(safe(curve.name), longest_name);
        cut_at(curve.points, 0);
        cut_at(curve.points, panel.detail);
        cut_at(curve.points, panel.end);
        std::erase_if(curve.points,
                      [&](const CurvePoint& point) { return !is_in(point, panel.end); });
        curve.points.resize(std::min(curve.points.size(), most_points));
    }
    std::erase_if(panel.band.points, [&](const CurveBand::Point& point) {
        return !is_in({point.at, point.low}, panel.end) || !std::isfinite(point.high);
    });
    panel.band.points.resize(std::min(panel.band.points.size(), most_points));
    std::erase_if(panel.levels, [](const CurveLevel& level) {
        return !std::isfinite(level.value) || level.value < 0;
    });
    std::stable_sort(panel.levels.begin(),
                     panel.levels.end(),
                     [](const CurveLevel& a, const CurveLevel& b) { return a.value > b.value; });
    std::erase_if(panel.spans, [&](const CurveSpan& span) {
        return !(span.begin >= 0 && span.begin <= span.end && span.begin <= panel.end);
    });
    return panel;
}

/// Draws one panel; its upper edge is at y = 0.
class PanelDrawing {
public:
    explicit PanelDrawing(const CurvePanel& panel)
        : panel_(panel), head_(24 + (panel.about.empty() ? 0 : 18) + 6),
          scale_(panel,
                 largest_value(panel),
                 head_ + span_height * static_cast<double>(panel.spans.size()) + 4 + curves_height),
          area_{curves_left,
                scale_.floor() - curves_height,
                curves_right - curves_left,
                curves_height} {}

    Lane run() {
        draw_head();
        draw_ground();
        draw_times();
        draw_values();
        draw_band();
        draw_spans();
        draw_levels();
        draw_curves_themselves();
        Lane lane;
        lane.body = std::move(svg_);
        lane.height = scale_.floor() + (panel_.detail > 0 ? 48 : 30);
        return lane;
    }

private:
    void draw_head() {
        const double room = wide_page.picture - 2 * margin;
        svg_.text({margin, 18}, "b", shortened(safe(panel_.name), Font::strong, room));
        if (!panel_.about.empty()) {
            svg_.text({margin, 36}, "t", shortened(safe(panel_.about), Font::normal, room));
        }
    }

    /// The beginning that has a scale of its own is told by its ground, a bracket and in words.
    void draw_ground() {
        svg_.rect(area_, "band");
        if (panel_.detail <= 0) {
            return;
        }
        const double split = scale_.split();
        const double bracket = scale_.floor() + 28;
        svg_.rect({area_.x, area_.y, split - area_.x, area_.height}, "tint");
        svg_.line({split, area_.y}, {split, scale_.floor()}, "axis");
        ruled_.uprights.push_back(split);
        svg_.line({area_.x, bracket}, {split, bracket}, "axis");
        svg_.line({area_.x, bracket - 4}, {area_.x, bracket}, "axis");
        svg_.line({split, bracket - 4}, {split, bracket}, "axis");
        svg_.text({(area_.x + split) / 2, bracket + 14}, "s mid", scale_.detail_words());
    }

    void draw_times() {
        const double floor = scale_.floor();
        for (const Tick& tick : scale_.ticks()) {
            const bool told = !tick.text.empty();
            if (told) {
                svg_.line({tick.x, area_.y}, {tick.x, floor}, "grid");
                svg_.text({tick.x, floor + 20}, "s mid", tick.text);
            }
            svg_.line({tick.x, floor}, {tick.x, floor + (told ? 7 : 4)}, told ? "edge" : "axis");
        }
    }

    void draw_values() {
        const auto steps = static_cast<int>(std::round(scale_.most() / scale_.value_step()));
        for (int i = 0; i <= steps; ++i) {
            const double value = i * scale_.value_step();
            const double y = scale_.y(value);
            svg_.line({curves_left, y}, {curves_right, y}, i == 0 ? "edge" : "grid");
            svg_.text({curves_left - 8, y + 4},
                      "s end",
                      number(value) + (panel_.unit.empty() ? "" : " " + panel_.unit));
        }
        svg_.line({curves_left, area_.y}, {curves_left, scale_.floor()}, "axis");
    }

    void draw_band() {
        if (panel_.band.points.empty()) {
            return;
        }
        Track2D around;
        around.reserve(2 * panel_.band.points.size());
        const auto add = [&](double at, double value) {
            around.push_back({scale_.x(at), scale_.y(std::clamp(value, 0.0, scale_.most()))});
        };
        for (const CurveBand::Point& point : panel_.band.points) {
            add(point.at, point.high);
        }
        for (auto point = panel_.band.points.rbegin(); point != panel_.band.points.rend();
             ++point) {
            add(point->at, point->low);
        }
        svg_.path(path_of(around) + "Z", "held");
    }

    void draw_spans() {
        double y = head_ + span_height / 2;
        ruled_.uprights.reserve(2 * panel_.spans.size());
        for (const CurveSpan& span : panel_.spans) {
            const double from = scale_.x(span.begin);
            const double to = scale_.x(std::min(span.end, panel_.end));
            const bool goes_on = span.end > panel_.end;
            svg_.line({from, y}, {to, y}, "edge");
            svg_.line({from, y - 5}, {from, scale_.floor()}, "lead");
            ruled_.uprights.push_back(from);
            if (!goes_on) {
                svg_.line({to, y - 5}, {to, scale_.floor()}, "lead");
                ruled_.uprights.push_back(to);
            }
            add_span_name(span, from, to, y);
            y += span_height;
        }
    }

    /// Right of its bar where there is room, else left of it, else upon it, at its end.
    void add_span_name(const CurveSpan& span, double from, double to, double y) {
        const std::string name = limited(safe(span.name), longest_name);
        const double width = width_of(name, Font::normal) + 8;
        if (to + width < wide_page.label_right) {
            svg_.text({to + 7, y + 4}, "t", name);
        } else if (from - width > margin) {
            svg_.text({from - 7, y + 4}, "t end", name);
        } else if (to - width >
                   curves_left) {  // the name of the bar above may stand over its beginning
            svg_.text({to - 3, y - 4}, "t end", name);
        } else {
            svg_.text({curves_left, y - 4},
                      "t",
                      shortened(name, Font::normal, wide_page.label_right - curves_left));
        }
    }

    void draw_levels() {
        std::vector<double> wanted;
        wanted.reserve(panel_.levels.size());
        for (const CurveLevel& level : panel_.levels) {
            wanted.push_back(scale_.y(level.value));
        }
        const std::vector<double> heights =
            moved_apart(wanted, name_room, area_.y - 4, scale_.floor());
        for (std::size_t i = 0; i < wanted.size(); ++i) {
            svg_.line({curves_left, wanted[i]}, {curves_right, wanted[i]}, "lead dash");
            svg_.line({curves_right, wanted[i]}, {curves_right + 12, heights[i]}, "lead");
            svg_.text({curves_right + 16, heights[i] + 4},
                      "t",
                      shortened(safe(panel_.levels[i].name),
                                Font::normal,
                                wide_page.label_right - curves_right - 16));
        }
        ruled_.levels = std::move(wanted);
    }

    void draw_curves_themselves() {
        std::vector<Track2D> tracks;
        std::vector<std::string> names;
        tracks.reserve(panel_.curves.size());
        names.reserve(panel_.curves.size());
        for (std::size_t i = 0; i < panel_.curves.size(); ++i) {
            const Curve& curve = panel_.curves[i];
            tracks.push_back(track_of(curve));
            names.push_back(curve.name);
            svg_.begin_group(curve.name);
            svg_.path(path_of(tracks.back()), strokes[i % strokes.size()]);
            svg_.end_group();
        }
        const auto labels = place_names(tracks, names, ruled_, area_);
        for (std::size_t i = 0; i < labels.size(); ++i) {
            if (!tracks[i].empty()) {
                svg_.text(labels[i].at, "b", names[i]);
            }
        }
    }

    [[nodiscard]] Track2D track_of(const Curve& curve) const {
        Track2D track;
        track.reserve(curve.points.size());
        for (const CurvePoint& point : curve.points) {
            const Point drawn{scale_.x(point.at),
                              scale_.y(std::clamp(point.value, 0.0, scale_.most()))};
            // What is nearer than a third of a unit is not seen.
            if (track.empty() || std::abs(drawn.x - track.back().x) > 0.3 ||
                std::abs(drawn.y - track.back().y) > 0.3) {
                track.push_back(drawn);
            }
        }
        return track;
    }

    static std::string path_of(const Track2D& track) {
        std::string path;
        for (const Point& point : track) {
            path += (path.empty() ? "M" : "L") + number(point.x) + " " + number(point.y);
        }
        return path;
    }

    const CurvePanel& panel_;
    Svg svg_;
    double head_;
    CurveScale scale_;
    Box area_;
    Ruled ruled_;
};

std::string capitalised(std::string text) {
    if (!text.empty() && text.front() >= 'a' && text.front() <= 'z') {
        text.front() = static_cast<char>(text.front() - 'a' + 'A');
    }
    return text;
}

std::string described(std::span<const CurvePanel> panels, const DiagramTitle& title) {
    std::string text = "Curves against time.";
    text += title.subtitle.empty() ? "" : " " + sentence(title.subtitle);
    for (const CurvePanel& panel : panels) {
        text += " " + sentence(panel.name + (panel.about.empty() ? "" : ": " + panel.about));
        for (const CurveSpan& span : panel.spans) {
            text += " " + sentence(capitalised(span.name));
        }
    }
    return limited(text, 4'000);
}

}  // namespace

std::string draw_curves(std::span<const CurvePanel> panels, const DiagramTitle& title) {
    Svg body;
    double y = draw_heading(body, title, wide_page) + 4;
    for (const CurvePanel& panel : panels) {
        const CurvePanel tidy = tidied(panel);
        const Lane drawn = PanelDrawing(tidy).run();
        body.add(drawn.body, {0, y});
        y += drawn.height + panel_gap;
    }
    const std::string name = limited(title.title, longest_name);
    const Box page{0, 0, wide_page.picture, y - panel_gap + margin};
    return whole_file(body, page, {name, described(panels, title)}, own_style);
}

}  // namespace nightlatch::picture
