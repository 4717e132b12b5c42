// SPDX-License-Identifier: MIT
#include "daemon/tool/client/service_state.hpp"

#include <algorithm>
#include <limits>

namespace nightlatch::tool {

bool same_cue(const ServiceState& one, const ServiceState& other) {
    return one.cue == other.cue && one.since == other.since && one.until == other.until &&
           one.stage == other.stage && one.reason == other.reason;
}

const StageSeen* stage_named(const ServiceState& state, std::string_view name) {
    const auto found = std::find_if(state.stages.begin(),
                                    state.stages.end(),
                                    [name](const StageSeen& stage) { return stage.name == name; });
    return found == state.stages.end() ? nullptr : &*found;
}

const StageSeen* next_stage(const ServiceState& state) {
    if (state.stages.empty()) {
        return nullptr;
    }
    const StageSeen* const reached = stage_named(state, state.stage);
    const StageSeen* const next = reached == nullptr ? state.stages.data() : reached + 1;
    return next == state.stages.data() + state.stages.size() ? nullptr : next;
}

bool is_moving(const ServiceState& state, Instant now) {
    const bool moves = state.cue == "holding" || state.cue == "ready" || state.cue == "countdown";
    return moves && state.until != never && now < state.until;
}

double progress(const ServiceState& state, Instant now) {
    if (state.until == never || now >= state.until) {
        return 1;
    }
    // The sums are the service's to get right, and ours to survive.
    const auto seconds = [](Instant from, Instant to) {
        return std::chrono::duration<double>(to.time_since_epoch()).count() -
               std::chrono::duration<double>(from.time_since_epoch()).count();
    };
    const double whole = seconds(state.since, state.until);
    return whole > 0 ? std::clamp(seconds(state.since, now) / whole, 0.0, 1.0) : 1;
}

Instant instant_of(std::uint64_t microseconds) {
    constexpr auto most =
        static_cast<std::uint64_t>(std::numeric_limits<std::int64_t>::max()) / 1000;
    if (microseconds > most) {
        return never;
    }
    return Instant{std::chrono::microseconds(static_cast<std::int64_t>(microseconds))};
}

}  // namespace nightlatch::tool
