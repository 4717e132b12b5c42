// SPDX-License-Identifier: MIT
#include "rehearsal/rehearsal.hpp"

#include "rehearsal/recorder.hpp"
#include "rehearsal/scripted_post_halt.hpp"
#include "rehearsal/simulated_run.hpp"
#include "supervisor/narrate.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::rehearsal {
namespace {

using namespace std::chrono_literals;

/// Starts a while after the board did, as a service does.
class VirtualClock final : public ports::Clock {
public:
    [[nodiscard]] Instant now() const override { return now_; }

    [[nodiscard]] Duration suspended() const override { return 0s; }

    void move_to(Instant now) noexcept { now_ = std::max(now_, now); }

private:
    Instant now_{10s};
};

std::vector<wave::Threshold> thresholds_of(const config::Settings& settings) {
    std::vector<wave::Threshold> thresholds;
    thresholds.reserve(settings.core.stages.size());
    for (const core::Stage& stage : settings.core.stages) {
        thresholds.push_back(
            {stage.name, stage.hold, std::string(supervisor::text_of(stage.action))});
    }
    return thresholds;
}

}  // namespace

Rehearsal rehearse(RehearsalPlan plan) {
    VirtualClock clock;
    const Instant end = clock.now() + plan.script.end;
    Recorder recorder(clock, plan.details);
    recorder.expect(plan.script);
    recorder.thresholds(thresholds_of(plan.settings));
    recorder.outputs(plan.settings.feedback);
    ScriptedPostHalt post_halt(plan.script.post_halt);
    SimulatedRun run(std::make_shared<const config::Settings>(std::move(plan.settings)),
                     std::move(plan.script),
                     {clock, post_halt, recorder, {}});
    std::uint64_t turns = 1;
    run.start();
    recorder.settled(run.settled());
    while (run.next_due() <= end) {
        clock.move_to(run.next_due());
        run.turn();
        recorder.settled(run.settled());
        ++turns;
    }
    clock.move_to(end);
    Rehearsal rehearsal = recorder.take();
    rehearsal.turns = turns;
    return rehearsal;
}

std::string_view text_of(AskedOutcome outcome) noexcept {
    switch (outcome) {
    case AskedOutcome::open:
        return "open";
    case AskedOutcome::accepted:
        return "accepted";
    case AskedOutcome::refused:
        return "refused";
    case AskedOutcome::unanswered:
        return "unanswered";
    }
    return "open";
}

std::optional<core::CueName> cue_at(const Rehearsal& rehearsal, Duration at) {
    const auto after = std::upper_bound(
        rehearsal.timeline.cues.begin(),
        rehearsal.timeline.cues.end(),
        at,
        [](Duration when, const wave::CueChange& change) { return when < change.at; });
    if (after == rehearsal.timeline.cues.begin()) {
        return std::nullopt;
    }
    const auto index = static_cast<std::size_t>(after - rehearsal.timeline.cues.begin()) - 1;
    return rehearsal.cues[index].name;
}

}  // namespace nightlatch::rehearsal
