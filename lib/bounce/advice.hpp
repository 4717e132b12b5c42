// SPDX-License-Identifier: MIT
#pragma once

#include "bounce/measure.hpp"
#include "core/debounce.hpp"

namespace nightlatch::bounce {

/// Two debounce intervals, as the configuration has them.
struct Intervals {
    Duration press{};
    Duration release{};

    bool operator==(const Intervals&) const = default;
};

/// The longest pauses at each level, whatever was being done: a level that lasts as long as its
/// interval settles. At the pressed level that would begin a press too early or put a release off,
/// at the released level break a press off or make two of one.
Intervals pauses_by_level(const BounceReport& report) noexcept;

/// The same with room for another day's bounce, whose pauses may be at the other level: press has
/// to outlast every pause while pressing, release every pause while letting go.
Intervals pauses_to_outlast(const BounceReport& report) noexcept;

constexpr int advice_margin = 2;  ///< times the longest pause seen
/// The default of the kernel's own driver for keys
/// [linux Documentation/devicetree/bindings/input/gpio-keys.yaml, debounce-interval].
constexpr Duration least_advice = 5ms;

/// The pauses twice, rounded up to a customary value, at least 5 ms. Nothing for a button that no
/// interval of at most 1 s serves: a pause or an episode is too long, or the line floats.
std::optional<Intervals> advise(const BounceReport& report) noexcept;

/// Whether an episode of this length settles before the core gives it up, whatever its pauses are.
bool settles_in_time(Duration episode, const Intervals& intervals) noexcept;

/// Whether a debounce with these intervals takes every press and release that was measured once,
/// and at the right edge.
bool serves(const Intervals& intervals, const BounceReport& report) noexcept;

enum class BounceOutcome : unsigned char {
    fine,
    few,          ///< fewer whole presses than were asked for
    too_short,    ///< the configured intervals do not serve
    no_press,     ///< nothing moved
    never_rests,  ///< no interval serves
    floats,       ///< edges while nobody presses, or a storm
};

/// The worst that is to be said. `wanted`: so many whole presses were asked for.
BounceOutcome judge(const BounceReport& report,
                    std::size_t wanted,
                    const std::optional<Intervals>& configured) noexcept;

/// What the core's own debounce makes of the same edges with given intervals. The level at the
/// start is taken to have been there for long.
class BounceTrial {
public:
    BounceTrial(const Intervals& intervals, Instant start, Level level) noexcept;

    void sample(const core::Sample& sample) noexcept;
    void advance(Instant now) noexcept;

    /// As if the level stayed as it is for good.
    void finish() noexcept { advance(never - Duration(1)); }

    [[nodiscard]] std::size_t presses() const noexcept { return presses_; }

    [[nodiscard]] std::size_t releases() const noexcept { return releases_; }

    /// How often nothing was known any more: the press under way is void.
    [[nodiscard]] std::size_t voided() const noexcept { return voided_; }

    /// How often it came to rest at the level it had, as if nothing had been: of a bounce, that
    /// means settled too early.
    [[nodiscard]] std::size_t glitches() const noexcept { return glitches_; }

private:
    [[nodiscard]] Instant void_at() const noexcept;

    core::Debounce debounce_;
    std::size_t presses_ = 0;
    std::size_t releases_ = 0;
    std::size_t voided_ = 0;
    std::size_t glitches_ = 0;
    bool known_ = true;  ///< a level has settled since nothing was known
};

}  // namespace nightlatch::bounce
