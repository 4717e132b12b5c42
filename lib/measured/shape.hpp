// SPDX-License-Identifier: MIT
#pragma once

#include "measured/curve.hpp"

#include <optional>

namespace nightlatch::measured {

/// What was captured; a curve of no points was not.
struct Waves {
    CapturedCurve line;  ///< the post-halt line
    CapturedCurve hold;  ///< the hold capacitor
    CapturedCurve rail;
};

/// Times in seconds since the capture's first row, voltages in volts.
struct RailShape {
    double high = 0.0;              ///< before the fall
    std::optional<double> falls{};  ///< when it begins to

    /// A stretch of that fall, above the regulator's cut-out.
    struct Slope {
        double from = 0.0;
        double to = 0.0;
        double per_second = 0.0;  ///< above zero: it falls
    };

    std::optional<Slope> slope{};
    std::optional<double> turns{};  ///< when it rises again
    double turns_at = 0.0;          ///< V there
    double end = 0.0;               ///< V at the capture's end
    double down = 0.0;              ///< when it is down: within 5 % of its height above that
};

struct LineShape {
    std::optional<double> rises{};
    std::optional<double> dies{};
};

/// The hold capacitor's discharge: A e^(-t/tau) from `begins` on.
struct Decay {
    double begins = 0.0;
    double from = 0.0;  ///< V
    double to = 0.0;
    double tau = 0.0;
    double tau_least = 0.0;  ///< as far as the zero line is known
    double tau_most = 0.0;
};

struct Shape {
    std::optional<RailShape> rail;
    std::optional<LineShape> line;
    std::optional<Decay> decay;
    const char* no_decay = "";  ///< why there is none
    double ends = 0.0;          ///< of the capture
};

/// What the shape cannot know by itself.
struct Expected {
    double line_high = 3.3;
    double cut_out = 3.0;  ///< V, at most: above it the board's constant current alone draws
    double rail_on = 0.0;  ///< V, typical; a rail that is much lower has begun to fall
    bool line_shows_death = true;  ///< false for an active-low line, which is low while active
};

/// Any curves are safe: what they do not show is not there.
Shape shape_of(const Waves& waves, const Expected& expected);

}  // namespace nightlatch::measured
