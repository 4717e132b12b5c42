// SPDX-License-Identifier: MIT
#include "property/random_line.hpp"

#include "property/sweep.hpp"

#include <array>

namespace nightlatch::test {

using namespace core;

Settings random_settings(Dice& dice) {
    constexpr std::array<Duration, 6> intervals{0ms, 5ms, 30ms, 50ms, 160ms, 400ms};
    Settings settings;
    settings.press_interval = dice.pick(intervals);
    settings.release_interval = dice.pick(intervals);
    settings.act_on = dice.one_in(4) ? ActOn::threshold : ActOn::release;
    settings.threshold_guard = dice.one_in(2) ? 5ms : 50ms;
    const std::uint64_t stages = settings.act_on == ActOn::threshold ? 1 : 1 + dice.below(3);
    Duration hold = settings.press_interval;
    for (std::uint64_t i = 0; i < stages; ++i) {
        hold += 1ms + Duration(100ms) * static_cast<std::int64_t>(dice.below(6));
        const bool tell = dice.one_in(3);
        settings.stages.push_back(
            {.name = "stage", .hold = hold, .action = tell ? Action::announce : Action::power_off});
    }
    settings.stuck_after =
        hold + 60ms + Duration(100ms) * static_cast<std::int64_t>(dice.below(30));
    if (settings.act_on == ActOn::release && dice.one_in(2)) {
        settings.grace = Duration(50ms) * static_cast<std::int64_t>(1 + dice.below(40));
        settings.stuck_after = std::max<Duration>(settings.stuck_after, 1s);  // as the keys have it
    }
    return settings;
}

Limits impatient_limits(Dice& dice) {
    const auto tens_of_ms = [&](std::uint64_t least, std::uint64_t most) {
        return 10ms * static_cast<std::int64_t>(least + dice.below(most - least));
    };
    Limits limits;
    limits.unsettled = tens_of_ms(10, 100);
    limits.changes = 1 + static_cast<std::uint32_t>(dice.below(8));
    limits.changes_within = tens_of_ms(10, 200);
    limits.busy = tens_of_ms(10, 100);
    limits.busy_pause = tens_of_ms(2, 12);
    limits.trial = tens_of_ms(30, 400);
    limits.trial_patience = tens_of_ms(2, 20);
    limits.trial_changes = 1 + static_cast<std::uint32_t>(dice.below(limits.changes));
    limits.first_back_off = tens_of_ms(1, 30);
    limits.longest_back_off = limits.first_back_off * (1 << dice.below(4));
    return limits;
}

namespace {

Duration random_gap(Dice& dice, const Settings& settings) {
    const Duration hold = dice.pick(settings.stages).hold;
    const std::array<Duration, 9> about{0ms,
                                        settings.press_interval,
                                        settings.release_interval,
                                        hold,
                                        settings.stuck_after,
                                        100ms,
                                        500ms,
                                        settings.grace,
                                        settings.press_interval / 2};
    constexpr std::array<Duration, 7> off{-1ms, -1ns, 0ns, 0ns, 0ns, 1ns, 1ms};
    if (dice.one_in(8)) {
        return Duration(1us) * static_cast<std::int64_t>(dice.below(1'000'000));
    }
    return std::max(Duration::zero(), dice.pick(about) + dice.pick(off));
}

}  // namespace

model::Line random_line(Dice& dice, const Settings& settings, std::size_t most) {
    model::Line line;
    line.start = line_start;
    line.level = dice.one_in(4) ? Level::active : Level::inactive;
    Instant at = line.start;
    Level level = line.level;
    const std::uint64_t count = dice.below(most + 1);
    for (std::uint64_t i = 0; i < count; ++i) {
        at += random_gap(dice, settings);
        level = dice.one_in(6) ? level : !level;
        line.samples.push_back({at, level});
    }
    line.end = at + 10s;
    return line;
}

}  // namespace nightlatch::test
