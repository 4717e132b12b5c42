// SPDX-License-Identifier: MIT
#include "rehearsal/capture_script.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::rehearsal {
namespace {

bool presses_the_button(const PressScript& script) {
    return script.level_at_start == Level::active ||
           std::any_of(script.events.begin(), script.events.end(), [](const auto& event) {
               return std::holds_alternative<ButtonMoves>(event.step);
           });
}

}  // namespace

Result<PressScript, std::string> play_capture(const wave::Capture& capture,
                                              bool active_low,
                                              PressScript around) {
    if (presses_the_button(around)) {
        return Unexpected{std::string("presses the button, and so does the capture; expected a "
                                      "script without [[press]], [[glitch]] and level_at_start")};
    }
    const auto logical = [active_low](Level level) { return active_low ? !level : level; };
    PressScript script = std::move(around);
    script.level_at_start = logical(capture.at_start);
    script.events.reserve(script.events.size() + capture.edges.size());
    for (const wave::CapturedEdge& edge : capture.edges) {
        script.events.push_back({edge.at, ButtonMoves{logical(edge.level)}});
    }
    std::stable_sort(script.events.begin(), script.events.end(), [](const auto& a, const auto& b) {
        return a.at < b.at;
    });
    script.end = std::max(script.end, capture.end + kept_after_capture);
    return script;
}

}  // namespace nightlatch::rehearsal
