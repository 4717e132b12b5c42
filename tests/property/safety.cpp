// SPDX-License-Identifier: MIT
#include "property/safety.hpp"

#include <algorithm>

namespace nightlatch::test {

using namespace core;

namespace {

/// The samples as stretches of one level: [from, to), the first one from the Resync on.
struct Stretch {
    Instant from;
    Instant to;
    Level level = Level::inactive;

    [[nodiscard]] Duration length() const { return to - from; }
};

std::vector<Stretch> stretches_of(const model::Line& line, Instant until) {
    std::vector<Stretch> stretches{{line.start, until, line.level}};
    for (const Sample& sample : line.samples) {
        if (sample.stamp > until) {
            break;
        }
        stretches.back().to = sample.stamp;
        stretches.push_back({sample.stamp, until, sample.level});
    }
    return stretches;
}

/// Begins `begin`, has drop-outs shorter than the release interval in all up to `end`, and was
/// preceded by the line seen released for that long.
bool is_hold(const Settings& settings,
             const std::vector<Stretch>& stretches,
             Instant begin,
             Instant end) {
    const auto long_release = [&](const Stretch& stretch) {
        return stretch.level == Level::inactive && stretch.length() >= settings.release_interval;
    };
    bool released_before = false;
    bool drops_out = false;
    Duration dropped{};
    for (const Stretch& stretch : stretches) {
        if (stretch.to <= begin) {
            released_before = released_before || long_release(stretch);
        } else if (stretch.from < end && stretch.level == Level::inactive) {
            drops_out = true;
            dropped += stretch.length();
        }
    }
    return released_before && !(drops_out && dropped >= settings.release_interval);
}

}  // namespace

std::string unjustified(const Settings& settings, const model::Line& seen, const Left& left) {
    const auto* ask = std::get_if<Ask>(&left.action);
    const auto* publish = std::get_if<Publish>(&left.action);
    const Duration held = ask != nullptr ? ask->held : publish->held;
    const std::uint32_t stage = ask != nullptr ? ask->stage : publish->stage;
    if (held < settings.stages[stage].hold) {
        return "the hold is shorter than its stage's";
    }
    const std::vector<Stretch> stretches = stretches_of(seen, left.at);
    const bool on_threshold = settings.act_on == ActOn::threshold;
    for (const Stretch& press : stretches) {
        const Instant end = press.from + held;
        if (press.level != Level::active || end > left.at ||
            !is_hold(settings, stretches, press.from, end)) {
            continue;
        }
        const auto let_go = [&](const Stretch& stretch) {
            return stretch.from >= end && stretch.level == Level::inactive &&
                   stretch.length() >= settings.release_interval;
        };
        const bool ends_there = std::any_of(
            stretches.begin(), stretches.end(), [&](const Stretch& s) { return s.from == end; });
        if (on_threshold ||
            (ends_there && std::any_of(stretches.begin(), stretches.end(), let_go))) {
            return {};
        }
    }
    return "no hold of that length was seen";
}

}  // namespace nightlatch::test
