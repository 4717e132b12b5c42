// SPDX-License-Identifier: MIT
#include "bounce/advice.hpp"

namespace nightlatch::bounce {
namespace {

/// Common practice, no source: the steps that people write into configurations.
constexpr std::array<Duration, 20> customary{5ms,   10ms,  15ms,  20ms,  25ms,  30ms,  40ms,
                                             50ms,  60ms,  80ms,  100ms, 120ms, 150ms, 200ms,
                                             250ms, 300ms, 400ms, 500ms, 700ms, 1000ms};

/// Nobody taps for so long without a pause.
constexpr Duration longest_back = 1s;

std::optional<Duration> advised(Duration pause) noexcept {
    const Duration wanted = std::max(least_advice, advice_margin * pause);
    const auto* const found = std::lower_bound(customary.begin(), customary.end(), wanted);
    return found == customary.end() ? std::nullopt : std::optional<Duration>(*found);
}

}  // namespace

Intervals pauses_by_level(const BounceReport& report) noexcept {
    return {std::max(report.press.longest_closed, report.release.longest_closed),
            std::max(report.press.longest_open, report.release.longest_open)};
}

Intervals pauses_to_outlast(const BounceReport& report) noexcept {
    return {std::max(report.press.longest_pause(), report.release.longest_closed),
            std::max(report.release.longest_pause(), report.press.longest_open)};
}

std::optional<Intervals> advise(const BounceReport& report) noexcept {
    if (report.storm || report.press.times + report.release.times == 0) {
        return std::nullopt;
    }
    const Intervals pauses = pauses_to_outlast(report);
    const auto press = advised(pauses.press);
    const auto release = advised(pauses.release);
    if (!press || !release) {
        return std::nullopt;
    }
    const Intervals intervals{*press, *release};
    return serves(intervals, report) ? std::optional<Intervals>(intervals) : std::nullopt;
}

bool settles_in_time(Duration episode, const Intervals& intervals) noexcept {
    const Duration longer = std::max(intervals.press, intervals.release);
    namespace limits = core::limits;  // the stricter ones, of a line on trial
    return episode + longer <= std::max(limits::trial_patience, limits::trial_intervals * longer);
}

bool serves(const Intervals& intervals, const BounceReport& report) noexcept {
    // A deadline at `t` passes before a sample that is stamped `t`: an equal pause is too long.
    const Intervals pauses = pauses_by_level(report);
    const Duration longest = std::max(report.press.longest, report.release.longest);
    return intervals.press > pauses.press && intervals.release > pauses.release &&
           settles_in_time(longest, intervals);
}

BounceOutcome judge(const BounceReport& report,
                    std::size_t wanted,
                    const std::optional<Intervals>& configured) noexcept {
    if (report.storm) {
        return BounceOutcome::floats;
    }
    const bool at_all = report.press.times + report.release.times > 0;
    if (report.back.longest >= longest_back) {
        return BounceOutcome::never_rests;
    }
    if (!at_all) {
        return BounceOutcome::no_press;
    }
    if (!advise(report)) {
        return BounceOutcome::never_rests;
    }
    if (configured && !serves(*configured, report)) {
        return BounceOutcome::too_short;
    }
    return report.whole() < wanted ? BounceOutcome::few : BounceOutcome::fine;
}

BounceTrial::BounceTrial(const Intervals& intervals, Instant start, Level level) noexcept {
    debounce_.set_intervals(intervals.press, intervals.release);
    const Duration before = std::max(intervals.press, intervals.release);
    debounce_.reset(start - before, level);
    debounce_.expire();
}

void BounceTrial::sample(const core::Sample& sample) noexcept {
    advance(sample.stamp);
    debounce_.sample(sample);
}

void BounceTrial::advance(Instant now) noexcept {
    while (std::min(debounce_.deadline(), void_at()) <= now) {
        if (void_at() < debounce_.deadline()) {
            ++voided_;
            known_ = false;
            debounce_.reset(void_at(), *debounce_.raw());
            continue;
        }
        const core::SettleKind kind = debounce_.expire().kind;
        const bool again = kind == core::SettleKind::pressed_again;
        presses_ += kind == core::SettleKind::pressed || again ? 1U : 0U;
        // After a void one the level that settles first says where the line is, no more.
        releases_ += kind == core::SettleKind::released && known_ ? 1U : 0U;
        glitches_ += kind == core::SettleKind::glitch ? 1U : 0U;
        known_ = true;
    }
}

/// The line could not be read from then on.
Instant BounceTrial::void_at() const noexcept {
    const Instant since = debounce_.unsettled_since();
    return since == never ? never : since + core::limits::unsettled;
}

}  // namespace nightlatch::bounce
