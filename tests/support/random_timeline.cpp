// SPDX-License-Identifier: MIT
#include "support/random_timeline.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <string>

namespace nightlatch::test {
namespace {

using namespace wave;

constexpr std::array<const char*, 9> cue_words{
    "rest", "waiting", "holding", "ready", "countdown", "leaving", "refused", "stuck", "fault"};

class Maker {
public:
    Maker(Dice& dice, Duration step, std::uint64_t steps) : dice_(dice), step_(step) {
        timeline_.end = step_ * (1 + below(steps));
    }

    Timeline make() {
        fill(timeline_.raw, 200);
        fill(timeline_.settled, 10);
        timeline_.cues.push_back({Duration::zero(), "waiting", "waiting"});
        for (const Duration at : times(12)) {
            const char* cue = dice_.pick(cue_words);
            timeline_.cues.push_back({at, cue, cue});
        }
        for (const Duration at : times(10)) {
            constexpr std::array kinds{MarkKind::decision, MarkKind::request, MarkKind::remark};
            timeline_.marks.push_back({at, dice_.pick(kinds), "a mark"});
        }
        return timeline_;
    }

private:
    std::int64_t below(std::uint64_t bound) {
        return static_cast<std::int64_t>(dice_.below(bound));
    }

    std::optional<Level> level() {
        if (dice_.one_in(8)) {
            return std::nullopt;
        }
        return dice_.one_in(2) ? Level::active : Level::inactive;
    }

    /// Ascending, within the timeline, close together now and then, equal sometimes.
    std::vector<Duration> times(std::uint64_t most) {
        std::vector<Duration> found;
        Duration at{};
        for (std::uint64_t left = dice_.below(most + 1); left > 0; --left) {
            const auto rest = static_cast<std::uint64_t>((timeline_.end - at) / step_);
            const std::uint64_t far = dice_.one_in(3) ? rest / 4 : std::uint64_t{5};
            at += step_ * below(std::min(rest, far) + 1);
            found.push_back(at);
        }
        return found;
    }

    void fill(std::vector<LevelChange>& lane, std::uint64_t most) {
        lane.push_back({Duration::zero(), level()});
        for (const Duration at : times(most)) {
            lane.push_back({at, level()});
        }
    }

    Dice& dice_;
    Duration step_;
    Timeline timeline_;
};

}  // namespace

wave::Timeline random_timeline(Dice& dice, Duration step, std::uint64_t steps) {
    return Maker(dice, step, steps).make();
}

}  // namespace nightlatch::test
