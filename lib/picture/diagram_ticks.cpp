// SPDX-License-Identifier: MIT
#include "picture/diagram_ticks.hpp"

#include "picture/diagram_text.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::picture::svg {
namespace {

using namespace std::chrono_literals;

constexpr double least_step = 56;       // units between ticks with a text
constexpr double least_small_step = 9;  // between those without

/// Round lengths: 1, 2, 5 of a decade below a minute, then as clocks have them.
constexpr std::array steps{
    Duration(1ns),   Duration(2ns),   Duration(5ns),   Duration(10ns),  Duration(20ns),
    Duration(50ns),  Duration(100ns), Duration(200ns), Duration(500ns), Duration(1us),
    Duration(2us),   Duration(5us),   Duration(10us),  Duration(20us),  Duration(50us),
    Duration(100us), Duration(200us), Duration(500us), Duration(1ms),   Duration(2ms),
    Duration(5ms),   Duration(10ms),  Duration(20ms),  Duration(50ms),  Duration(100ms),
    Duration(200ms), Duration(500ms), Duration(1s),    Duration(2s),    Duration(5s),
    Duration(10s),   Duration(30s),   Duration(1min),  Duration(2min),  Duration(5min),
    Duration(10min), Duration(30min), Duration(1h),    Duration(2h),    Duration(6h),
    Duration(12h),   Duration(24h),   Duration(48h),   Duration(240h),  Duration(2400h),
    Duration(24000h)};

/// The least of the steps that is at least so wide.
std::size_t step_for(double per_second, double width) {
    std::size_t i = 0;
    while (i + 1 < steps.size() && seconds(steps[i]) * per_second < width) {
        ++i;
    }
    return i;
}

/// The greatest step that divides steps[large] and is still wide enough.
Duration small_step(std::size_t large, double per_second) {
    for (std::size_t i = step_for(per_second, least_small_step); i < large; ++i) {
        if (steps[large] % steps[i] == Duration::zero() && steps[large] / steps[i] <= 10) {
            return steps[i];
        }
    }
    return steps[large];
}

/// In one unit along a piece that ends at `end`: "500 ms" beside "900 ms", "0.5 s" beside "1 s",
/// where the ticks are not too fine for that.
std::string tick_text(Duration at, Duration step, Duration end) {
    if (end < 1min && end >= 1s && step >= 10ms) {
        return number(seconds(at)) + " s";
    }
    if (end < 1s && end >= 100us && step >= 10us) {
        return number(seconds(at) * 1e3) + " ms";
    }
    return time_text(at);
}

/// A short piece without a round time has the roundest that it has told.
void tell_roundest(std::span<Tick> ticks, std::size_t large, Duration end) {
    for (std::size_t i = large; i-- > 0;) {
        const auto found = std::find_if(ticks.begin(), ticks.end(), [&](const Tick& tick) {
            return tick.at % steps[i] == Duration::zero();
        });
        if (found != ticks.end()) {
            found->text = tick_text(found->at, steps[i], end);
            return;
        }
    }
}

void add_ticks(std::vector<Tick>& ticks, const Plot& plot, const Piece& piece) {
    const std::size_t large = step_for(plot.axis.per_second, least_step);
    const Duration small = small_step(large, plot.axis.per_second);
    Duration at = piece.time.begin / small * small;
    at += at < piece.time.begin ? small : Duration::zero();
    const std::size_t first = ticks.size();
    const Duration end = plot.axis.pieces.back().time.end;
    bool told = false;
    for (; at <= piece.time.end; at += small) {
        const bool round = at % steps[large] == Duration::zero();
        told = told || round;
        ticks.push_back(
            {at, x_of(plot.axis, piece, at), round ? tick_text(at, steps[large], end) : ""});
        if (piece.time.end - at < small) {
            break;
        }
    }
    if (!told) {
        tell_roundest(
            {ticks.begin() + static_cast<std::ptrdiff_t>(first), ticks.end()}, large, end);
    }
}

}  // namespace

std::vector<Tick> ticks_of(const Plot& plot, unsigned strip) {
    std::vector<Tick> ticks;
    ticks.reserve(128);
    for (const Piece& piece : plot.axis.pieces_of(strip)) {
        add_ticks(ticks, plot, piece);
    }
    double free_from = ticks.empty() ? 0 : ticks.front().x - 40;
    for (Tick& tick : ticks) {
        const double half = width_of(tick.text, Font::small) / 2;
        if (tick.x - half < free_from) {
            tick.text.clear();
        } else if (!tick.text.empty()) {
            free_from = tick.x + half + 6;
        }
    }
    return ticks;
}

Lane axis_lane(const Plot& plot, unsigned strip, const std::vector<Tick>& ticks) {
    Lane lane;
    lane.name = "time";
    lane.about = "since the start";
    lane.height = 32;
    lane.name_at = 16;
    for (const Piece& piece : plot.axis.pieces_of(strip)) {
        lane.body.line({piece.left, 2}, {piece.right, 2}, "edge");
    }
    if (strip + 1 < plot.axis.strips) {
        lane.body.text({plot.axis.across.plot_right + cut_width + 4, 7}, "s", "goes on below");
    }
    for (const Tick& tick : ticks) {
        const bool told = !tick.text.empty();
        lane.body.line({tick.x, 2}, {tick.x, told ? 9.0 : 6.0}, told ? "edge" : "axis");
        if (told) {
            lane.body.text({tick.x, 22}, "s mid", tick.text);
        }
    }
    return lane;
}

}  // namespace nightlatch::picture::svg
