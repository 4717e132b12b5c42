// SPDX-License-Identifier: MIT
#include "picture/diagram_axis.hpp"

#include <algorithm>
#include <array>
#include <limits>

namespace nightlatch::picture::svg {
namespace {

using namespace std::chrono_literals;

constexpr unsigned most_strips = 10;
/// Units a second at the pace of a stage at 3 s, when one strip does not do.
constexpr double strips_scale = 55;
/// Units by which a strip may seem too narrow for what fills it.
constexpr double rounding = 0.01;

/// A pause longer than this is cut, if one strip then has this scale: as few cuts as a good scale
/// allows. With the last one it is cut all the same, and strips are added.
struct Offer {
    Duration longest;
    double scale;
};

constexpr std::array offers{Offer{Duration::max(), 60}, Offer{8s, 50}, Offer{longest_pause, 40}};

double length(const Span& span) {
    return seconds(span.end) - seconds(span.begin);
}

/// To hundredths of a second, so that the length that a break tells is exact.
Duration rounded_up(Duration time) {
    return (time + 10ms - 1ns) / 10ms * 10ms;
}

Duration rounded_down(Duration time) {
    return time / 10ms * 10ms;
}

struct Pauses {
    Duration longest;  ///< that is drawn as it is
    Duration margin;   ///< of one that is cut, on each side
};

/// The pauses longer than `longest` without their margins, and `skip` with all pauses it touches.
std::vector<Cut> cuts_of(const std::vector<Duration>& moments,
                         const std::optional<Span>& skip,
                         const Pauses& pauses) {
    std::vector<Cut> cuts;
    cuts.reserve(64);
    const auto cut = [&](Duration begin, Duration end, bool idle) {
        const Span time{rounded_up(begin), rounded_down(end)};
        if (time.begin < time.end) {
            cuts.push_back({.time = time, .idle = idle});
        }
    };
    const Span none{Duration::max(), Duration::max()};
    const Span middle = skip.value_or(none);
    bool skipped = !skip.has_value();
    for (std::size_t i = 0; i + 1 < moments.size(); ++i) {
        const Span pause{moments[i], moments[i + 1]};
        if (!skipped && pause.end > middle.begin) {
            cut(std::max(middle.begin, Duration::zero()), middle.end, false);
            skipped = true;
        }
        const bool apart = pause.end <= middle.begin || pause.begin >= middle.end;
        if (apart && pause.end - pause.begin > pauses.longest) {
            cut(pause.begin + pauses.margin, pause.end - pauses.margin, true);
        }
    }
    return cuts;
}

std::vector<Span> between(const std::vector<Cut>& cuts, Duration end) {
    std::vector<Span> spans;
    spans.reserve(cuts.size() + 1);
    Duration from{};
    for (const Cut& cut : cuts) {
        spans.push_back({from, cut.time.begin});
        from = cut.time.end;
    }
    spans.push_back({from, end});
    return spans;
}

/// The scale at which all of it fills one strip.
double filling_scale(const std::vector<Cut>& cuts, Duration end, double plot_right) {
    double drawn = seconds(end);
    for (const Cut& cut : cuts) {
        drawn -= length(cut.time);
    }
    const double room = plot_right - plot_left - cut_width * static_cast<double>(cuts.size());
    return room / std::max(drawn, 1e-6);
}

/// A strip that is full ends before the press that goes on there; `rest`: what it still holds.
Duration good_end(const wave::Timeline& timeline, const Span& rest, double pace) {
    const auto after =
        std::upper_bound(timeline.holds.begin(),
                         timeline.holds.end(),
                         rest.end,
                         [](Duration at, const wave::Hold& hold) { return at < hold.begin; });
    if (after == timeline.holds.begin()) {
        return rest.end;
    }
    const wave::Hold& last = *(after - 1);
    const Duration end = last.begin - paced(pace, 300ms);
    const bool inside = rest.end < last.end + paced(pace, 600ms);
    return inside && end >= rest.begin ? end : rest.end;
}

/// Writes pieces and the cuts' places from left to right, strip below strip.
class Layout {
public:
    Layout(const wave::Timeline& timeline, const Across& across, double per_second)
        : timeline_(timeline) {
        axis_.across = across;
        axis_.per_second = per_second;
    }

    void put(Span time) {
        while (length(time) * axis_.per_second > right() - x_ + rounding) {
            const double room = std::max(0.0, right() - x_) / axis_.per_second;
            const Duration full = time.begin + std::chrono::duration_cast<Duration>(
                                                   std::chrono::duration<double>(room));
            Duration end = good_end(timeline_, {time.begin, full}, pace_of(timeline_));
            // Unless that leaves the strip rather empty.
            if (x_ + length({time.begin, end}) * axis_.per_second < (plot_left + right()) / 2) {
                end = full;
            }
            put_piece({time.begin, end});
            time.begin = end;
            x_ = plot_left;
            ++strip_;
        }
        put_piece(time);
    }

    /// `next` is drawn after it: both go to a new strip rather than that `next` is torn.
    void put(Cut cut, const Span& next) {
        const double needed = cut_width + length(next) * axis_.per_second;
        const bool half_full = x_ > (plot_left + right()) / 2;
        if (half_full && x_ + needed > right() + rounding && plot_left + needed <= right()) {
            x_ = plot_left;
            ++strip_;
        }
        cut.strip = strip_;
        cut.left = x_;
        x_ += cut_width;
        axis_.cuts.push_back(cut);
    }

    Axis take() {
        axis_.strips = strip_ + 1;
        return std::move(axis_);
    }

private:
    [[nodiscard]] double right() const { return axis_.across.plot_right; }

    void put_piece(const Span& time) {
        const double right = x_ + length(time) * axis_.per_second;
        if (time.begin < time.end || axis_.pieces.empty()) {
            axis_.pieces.push_back({time, strip_, x_, right});
        }
        x_ = right;
    }

    const wave::Timeline& timeline_;
    Axis axis_;
    unsigned strip_ = 0;
    double x_ = plot_left;
};

Axis laid_out(const wave::Timeline& timeline,
              const std::vector<Cut>& cuts,
              const Across& across,
              double per_second) {
    Layout layout(timeline, across, per_second);
    const std::vector<Span> spans = between(cuts, timeline.end);
    for (std::size_t i = 0; i < spans.size(); ++i) {
        layout.put(spans[i]);
        if (i < cuts.size()) {
            layout.put(cuts[i], spans[i + 1]);
        }
    }
    return layout.take();
}

template <class Item>
std::size_t count_in(const std::vector<Item>& items, const Span& time) {
    return static_cast<std::size_t>(
        std::count_if(items.begin(), items.end(), [&](const Item& item) {
            return item.at > time.begin && item.at < time.end;
        }));
}

void count_missing(const wave::Timeline& timeline, std::vector<Cut>& cuts) {
    for (Cut& cut : cuts) {
        if (cut.idle) {
            continue;
        }
        cut.marks = count_in(timeline.marks, cut.time);
        cut.changes = count_in(timeline.raw, cut.time) + count_in(timeline.settled, cut.time) +
                      count_in(timeline.cues, cut.time);
        for (const wave::Hold& hold : timeline.holds) {
            cut.presses += hold.begin < cut.time.end && hold.end > cut.time.begin ? 1U : 0U;
        }
    }
}

}  // namespace

std::span<const Piece> Axis::pieces_of(unsigned strip) const {
    const auto first = std::find_if(
        pieces.begin(), pieces.end(), [&](const Piece& piece) { return piece.strip == strip; });
    const auto last =
        std::find_if(first, pieces.end(), [&](const Piece& piece) { return piece.strip != strip; });
    return {first, last};
}

Duration Axis::drawn() const {
    Duration sum{};
    for (const Piece& piece : pieces) {
        sum += piece.time.end - piece.time.begin;
    }
    return sum;
}

Duration Axis::left_out() const {
    Duration sum{};
    for (const Cut& cut : cuts) {
        sum += cut.time.end - cut.time.begin;
    }
    return sum;
}

double x_of(const Axis& axis, const Piece& piece, Duration at) {
    return piece.left + length({piece.time.begin, at}) * axis.per_second;
}

std::span<const wave::Mark> marks_in(const wave::Timeline& timeline, const Piece& piece) {
    const auto before = [](const wave::Mark& mark, Duration at) { return mark.at < at; };
    const auto& marks = timeline.marks;
    const auto first = std::lower_bound(marks.begin(), marks.end(), piece.time.begin, before);
    const bool last = piece.time.end == timeline.end;
    return {first,
            last ? marks.end() : std::lower_bound(first, marks.end(), piece.time.end, before)};
}

Axis plan_axis(const wave::Timeline& timeline, const Across& across) {
    const std::vector<Duration> moments = moments_of(timeline);
    const std::optional<Span> skip = too_many(timeline, moments);
    const double pace = pace_of(timeline);
    std::vector<Cut> cuts;
    double scale = 0;
    for (const Offer& offer : offers) {
        const bool uncut = offer.longest == Duration::max();
        const Duration longest = uncut ? offer.longest : paced(pace, offer.longest);
        cuts = cuts_of(moments, skip, {longest, paced(pace, seen_of_pause)});
        scale = filling_scale(cuts, timeline.end, across.plot_right);
        if (scale >= offer.scale / pace) {
            break;
        }
    }
    count_missing(timeline, cuts);
    if (scale < offers.back().scale / pace) {
        scale = strips_scale / pace;
    }
    Axis axis = laid_out(timeline, cuts, across, scale);
    while (axis.strips > most_strips) {
        scale *= 0.8;
        axis = laid_out(timeline, cuts, across, scale);
    }
    if (axis.strips == 1) {
        return axis;
    }
    // The strips are there anyway: they may as well be filled.
    for (Axis wider = axis; wider.strips == axis.strips; scale *= 1.03) {
        axis = std::move(wider);
        wider = laid_out(timeline, cuts, across, scale * 1.03);
    }
    return axis;
}

}  // namespace nightlatch::picture::svg
