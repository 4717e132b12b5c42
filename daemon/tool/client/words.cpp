// SPDX-License-Identifier: MIT
#include "daemon/tool/client/words.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstring>

namespace nightlatch::tool {
namespace {

constexpr std::array codes{
    ReasonCode{"locked", "a lock of another program is in the way"},
    ReasonCode{"refused", "the system refused"},
    ReasonCode{"not-sent", "the request could not be handed over in time, and was withdrawn"},
    ReasonCode{"no-answer", "the request was sent and has no answer: it may still act"},
    ReasonCode{"given-up", "the request had no answer for two minutes"},
    ReasonCode{"nothing-came", "the request was accepted, and no shutdown came of it"},
    ReasonCode{"failed", "a shutdown that had begun was given up"},
    ReasonCode{"no-post-halt", "the supply would stay on after the halt"},
    ReasonCode{"asked", "the system has been asked"},
    ReasonCode{"other-shutdown", "somebody else shuts the system down"},
    ReasonCode{"alarm", "an alarm asked for it"},
    ReasonCode{"dry", "this is a dry run: nothing is asked of the system"},
    ReasonCode{"line-lost", "the button's line is gone"},
    ReasonCode{"line-unreadable", "the button's line is disturbed or floats"},
    ReasonCode{"stuck", "the button has been pressed for too long"},
};

std::string_view sentence_of(std::string_view code) {
    const auto known = std::find_if(
        codes.begin(), codes.end(), [code](const ReasonCode& one) { return one.code == code; });
    return known == codes.end() ? "something else" : known->sentence;
}

using std::chrono::milliseconds;

std::string tenths_text(milliseconds length) {
    const auto whole = std::max<std::int64_t>(0, length.count() / 100);
    return std::to_string(whole / 10) + "." + std::to_string(whole % 10) + " s";
}

/// "1.2 s", to the tenth that has passed.
std::string tenths(Duration length) {
    return tenths_text(std::chrono::floor<milliseconds>(length));
}

/// The same of what is to come: never "0.0 s" before it is there.
std::string tenths_left(Duration length) {
    return tenths_text(std::chrono::ceil<milliseconds>(length) + milliseconds(99));
}

std::string next_words(const ServiceState& state, Instant now) {
    const StageSeen* const next = next_stage(state);
    if (next == nullptr || state.until == never) {
        return "";
    }
    return "in " + tenths_left(state.until - now) + " " + stage_words(*next);
}

/// The stage that was reached or decided, as far as it is known by name.
std::string reached_words(const ServiceState& state) {
    const StageSeen* const stage = stage_named(state, state.stage);
    return stage == nullptr ? safe(state.stage) : stage_words(*stage);
}

std::string rest_words(const ServiceState& state, Instant /*now*/) {
    std::string text = "at rest";
    const char* lead = ": hold ";
    for (const StageSeen& stage : state.stages) {
        text += lead + to_text(stage.hold) + " for " + stage_words(stage);
        lead = ", ";
    }
    return text;
}

std::string waiting_words(const ServiceState& /*state*/, Instant /*now*/) {
    return "waiting until the button has been seen released: no press counts before";
}

std::string holding_words(const ServiceState& state, Instant now) {
    const std::string next = next_words(state, now);
    return "held " + tenths(now - state.since) + ": letting go now does nothing" +
           (next.empty() ? "" : "; " + next);
}

std::string ready_words(const ServiceState& state, Instant now) {
    const std::string next = next_words(state, now);
    return "let go now for " + reached_words(state) + (next.empty() ? "" : "; " + next);
}

std::string countdown_words(const ServiceState& state, Instant now) {
    const std::string when =
        state.until == never ? " soon" : " in " + tenths_left(state.until - now);
    const std::string what = state.stage.empty() ? "going down" : reached_words(state);
    return what + when + ": press and stay on the button, or `nightlatch call-off`, to call it off";
}

std::string leaving_words(const ServiceState& state, Instant /*now*/) {
    return state.stage.empty() ? "going down" : "going down: " + reached_words(state);
}

std::string refused_words(const ServiceState& /*state*/, Instant /*now*/) {
    return "refused";
}

std::string stuck_words(const ServiceState& /*state*/, Instant /*now*/) {
    return "stuck: nothing happens until the button is let go";
}

std::string fault_words(const ServiceState& /*state*/, Instant /*now*/) {
    return "fault: no press is seen";
}

struct CueWords {
    std::string_view cue;
    std::string (*words)(const ServiceState&, Instant);
};

constexpr std::array all_words{
    CueWords{"rest", rest_words},
    CueWords{"waiting", waiting_words},
    CueWords{"holding", holding_words},
    CueWords{"ready", ready_words},
    CueWords{"countdown", countdown_words},
    CueWords{"leaving", leaving_words},
    CueWords{"refused", refused_words},
    CueWords{"stuck", stuck_words},
    CueWords{"fault", fault_words},
};

}  // namespace

std::span<const ReasonCode> reason_codes() {
    return codes;
}

std::string reason_words(const ReasonSeen& reason) {
    if (reason.code.empty()) {
        return "";
    }
    std::string text(sentence_of(reason.code));
    const auto add = [&text](const char* lead, const std::optional<std::string>& value) {
        if (value && !value->empty()) {
            text += lead + shortened(*value);
        }
    };
    add(": ", reason.alarm);
    add(": ", reason.who);
    add(", ", reason.why);
    // A lock's text says who and why over again.
    add(": ", reason.who ? std::nullopt : reason.text);
    if (reason.error && !reason.text) {
        text += ": " + safe(std::strerror(static_cast<int>(std::abs(*reason.error))));
    }
    if (reason.rate) {
        text += ": " + counted(static_cast<std::uint64_t>(*reason.rate), "edge") + " in a second";
    }
    return text;
}

std::string cue_words(const ServiceState& state, Instant now) {
    const auto known = std::find_if(all_words.begin(),
                                    all_words.end(),
                                    [&state](const CueWords& one) { return one.cue == state.cue; });
    std::string text = known == all_words.end() ? "something else: " + in_quotes(state.cue)
                                                : known->words(state, now);
    if (const std::string why = reason_words(state.reason); !why.empty()) {
        text += "; " + why;
    }
    return state.dry ? text + " (dry run)" : text;
}

std::string stage_words(const StageSeen& stage) {
    return safe(stage.name) + " (" + safe(stage.action) + ")";
}

std::string absent_words(Absent why, const std::string& detail) {
    const std::string more = detail.empty() ? "" : " (" + safe(detail) + ")";
    switch (why) {
    case Absent::no_service:
        return "the service is not running" + more;
    case Absent::no_bus:
        return "there is no system bus" + more;
    case Absent::silent:
        break;
    }
    return "the service does not answer" + more;
}

std::string announced_words(const std::string& name) {
    return "announced: " + safe(name);
}

std::string bar(double part, unsigned width) {
    const unsigned cells = std::max(width, 3U) - 2;
    const auto full = static_cast<unsigned>(std::clamp(part, 0.0, 1.0) * cells);
    return "[" + std::string(full, '#') + std::string(cells - full, '-') + "]";
}

}  // namespace nightlatch::tool
