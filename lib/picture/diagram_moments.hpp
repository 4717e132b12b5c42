// SPDX-License-Identifier: MIT
#pragma once

#include "wave/timeline.hpp"

#include <optional>
#include <vector>

namespace nightlatch::picture::svg {

/// At a pace of 1: the longest pause that is not cut when there is little room, and what of a cut
/// one is drawn at each end.
constexpr Duration longest_pause = std::chrono::seconds(4);
constexpr Duration seen_of_pause = std::chrono::milliseconds(600);

struct Span {
    Duration begin{};
    Duration end{};

    bool operator==(const Span&) const = default;
};

double seconds(Duration time) noexcept;

/// Every time at which something happens, ascending, with 0 and the end; in each hold the stages
/// that lie within it.
std::vector<Duration> moments_of(const wave::Timeline& timeline);

/// How fast this configuration's presses go, next to one whose stage is at 3 s: all lengths by
/// which the picture is laid out are in proportion to it. Between 0.2 and 4.
double pace_of(const wave::Timeline& timeline) noexcept;

/// A length in proportion to the pace.
Duration paced(double pace, Duration length) noexcept;

/// The middle that is not drawn because there are too many presses (or, without presses, too many
/// separate events) to look at.
std::optional<Span> too_many(const wave::Timeline& timeline, const std::vector<Duration>& moments);

/// With its times inside the timeline and in order, and its texts of bounded length, which is what
/// all else relies on.
/// The longest text has `longest` bytes.
wave::Timeline in_order(wave::Timeline timeline, std::size_t longest);

}  // namespace nightlatch::picture::svg
