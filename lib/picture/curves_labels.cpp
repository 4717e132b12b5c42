// SPDX-License-Identifier: MIT
#include "picture/curves_labels.hpp"

#include "picture/diagram_text.hpp"

#include <algorithm>
#include <cmath>

namespace nightlatch::picture::svg {
namespace {

constexpr int places_along = 60;
constexpr double text_height = 13;
constexpr double off_the_curve = 6;
constexpr double aside = 16;   ///< what is this near to a text's ends is beside it
constexpr double enough = 40;  ///< farther from all else is no better

bool meet(const Box& a, const Box& b) {
    return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height &&
           b.y < a.y + a.height;
}

/// How far a height is from a box: 0 inside.
double distance(const Box& box, double height) {
    if (height < box.y) {
        return box.y - height;
    }
    return height > box.y + box.height ? height - box.y - box.height : 0;
}

/// How far a track stays from a text, its steep parts beside the text's ends included.
double distance(const Box& text, const Track2D& track) {
    const Box box{text.x - aside, text.y, text.width + 2 * aside, text.height};
    double low = height_at(track, box.x);
    double high = low;
    const auto see = [&](double height) {
        low = std::min(low, height);
        high = std::max(high, height);
    };
    see(height_at(track, box.x + box.width));
    for (const Point& point : track) {
        if (point.x >= box.x && point.x <= box.x + box.width) {
            see(point.y);
        }
    }
    if (low <= box.y + box.height && high >= box.y) {
        return 0;
    }
    return std::min({enough, distance(box, low), distance(box, high)});
}

class Placing {
public:
    Placing(std::span<const Track2D> tracks, const Ruled& ruled, const Box& area)
        : tracks_(tracks), ruled_(ruled), area_(area) {}

    CurveLabel place(std::size_t index, const std::string& name) {
        const double width = width_of(name, Font::normal) + 4;
        Box best;
        double best_worth = -2;  // a name that must meet another stands somewhere nevertheless
        for (int i = 0; i < 2 * places_along; ++i) {
            const int along = i / 2;
            const double part = along / double{places_along - 1};
            const double x = area_.x + 4 + (area_.width - width - 8) * part;
            const Box box = box_at(tracks_[index], x, width, i % 2 == 0);
            const double worth = worth_of(box, index);
            if (worth > best_worth) {
                best_worth = worth;
                best = box;
            }
        }
        taken_.push_back(best);
        return {{best.x + 2, best.y + text_height - 3}, best};
    }

private:
    /// As near to its own curve as a text can stand over its whole width.
    static Box box_at(const Track2D& track, double x, double width, bool above) {
        double low = std::max(height_at(track, x), height_at(track, x + width));
        double high = std::min(height_at(track, x), height_at(track, x + width));
        for (const Point& point : track) {
            if (point.x >= x && point.x <= x + width) {
                low = std::max(low, point.y);
                high = std::min(high, point.y);
            }
        }
        const double y = above ? high - off_the_curve - text_height : low + off_the_curve;
        return {x, y, width, text_height};
    }

    /// From a text to its curve: a line between them would take the text to itself.
    [[nodiscard]] Box reach(const Box& box, std::size_t own) const {
        const double curve = height_at(tracks_[own], box.x + box.width / 2);
        const double top = std::min(box.y, curve);
        return {box.x, top, box.width, std::max(box.y + box.height, curve) - top};
    }

    [[nodiscard]] double worth_of(const Box& box, std::size_t own) const {
        if (box.y < area_.y || box.y + box.height > area_.y + area_.height ||
            std::any_of(
                taken_.begin(), taken_.end(), [&](const Box& other) { return meet(box, other); })) {
            return -1;
        }
        double worth = enough;
        for (std::size_t i = 0; i < tracks_.size(); ++i) {
            if (i != own) {
                worth = std::min(worth, distance(box, tracks_[i]));
            }
        }
        for (const double level : ruled_.levels) {
            worth = std::min(worth, distance(reach(box, own), level));
        }
        const bool crossed =
            std::any_of(ruled_.uprights.begin(), ruled_.uprights.end(), [&](double x) {
                return x > box.x && x < box.x + box.width;
            });
        worth = crossed ? 0 : worth;
        // Beside a steep part a name stands far from most of its curve.
        const double steep =
            std::abs(height_at(tracks_[own], box.x) - height_at(tracks_[own], box.x + box.width));
        return worth <= 0 ? worth : std::max(worth - steep / 4, 0.1);
    }

    std::span<const Track2D> tracks_;
    const Ruled& ruled_;
    Box area_;
    std::vector<Box> taken_;
};

}  // namespace

double height_at(const Track2D& track, double x) {
    if (track.empty()) {
        return 0;
    }
    const auto after =
        std::find_if(track.begin(), track.end(), [x](const Point& point) { return point.x >= x; });
    if (after == track.begin()) {
        return track.front().y;
    }
    if (after == track.end()) {
        return track.back().y;
    }
    const Point& before = *(after - 1);
    const double part = (x - before.x) / (after->x - before.x);
    return before.y + part * (after->y - before.y);
}

std::vector<CurveLabel> place_names(std::span<const Track2D> tracks,
                                    std::span<const std::string> names,
                                    const Ruled& ruled,
                                    const Box& area) {
    std::vector<CurveLabel> labels;
    labels.reserve(names.size());
    Placing placing(tracks, ruled, area);
    for (std::size_t i = 0; i < names.size(); ++i) {
        labels.push_back(tracks[i].empty() ? CurveLabel{} : placing.place(i, names[i]));
    }
    return labels;
}

std::vector<double> moved_apart(std::vector<double> wanted,
                                double room,
                                double top,
                                double bottom) {
    for (std::size_t i = 0; i < wanted.size(); ++i) {
        wanted[i] = std::max(wanted[i], i == 0 ? top : wanted[i - 1] + room);
    }
    double limit = bottom;
    for (std::size_t i = wanted.size(); i-- > 0; limit -= room) {
        wanted[i] = std::min(wanted[i], limit);
        limit = wanted[i];
    }
    return wanted;
}

}  // namespace nightlatch::picture::svg
