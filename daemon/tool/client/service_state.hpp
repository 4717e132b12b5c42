// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

/// What the service shows on the bus, as one value [org.nightlatch.Nightlatch1.xml].
namespace nightlatch::tool {

struct StageSeen {
    std::string name;
    Duration hold{};
    std::string action;

    bool operator==(const StageSeen&) const = default;
};

struct AlarmSeen {
    std::string name;
    bool due = false;

    bool operator==(const AlarmSeen&) const = default;
};

/// Why the cue is what it is: a code, empty where there is nothing to say, and what goes with it.
struct ReasonSeen {
    std::string code;
    std::optional<std::string> alarm{};
    std::optional<std::string> who{};
    std::optional<std::string> why{};
    std::optional<std::string> text{};
    std::optional<std::int64_t> error{};
    std::optional<std::int64_t> rate{};

    bool operator==(const ReasonSeen&) const = default;
};

struct LineSeen {
    std::string chip;
    std::string line;
    bool watching = false;

    bool operator==(const LineSeen&) const = default;
};

struct ConfigurationSeen {
    std::string path;
    Instant loaded{};
    std::string on_disk;  ///< same, differs or bad
    std::optional<std::string> trouble{};

    bool operator==(const ConfigurationSeen&) const = default;
};

/// Words of the service stay texts: a later service may have others.
struct ServiceState {
    std::string cue;
    Instant since{};
    Instant until = never;  ///< never: open
    std::string stage;      ///< empty: none
    std::vector<StageSeen> stages;
    ReasonSeen reason;
    std::vector<AlarmSeen> alarms;
    std::string post_halt;
    LineSeen line;
    std::string level = "unknown";
    ConfigurationSeen configuration;
    bool dry = false;
    std::string version;

    bool operator==(const ServiceState&) const = default;
};

/// Why there is no state to show.
enum class Absent : unsigned char { no_service, no_bus, silent };

/// "no service", "no bus", "no answer".
constexpr std::string_view text_of(Absent why) noexcept {
    switch (why) {
    case Absent::no_service:
        return "no service";
    case Absent::no_bus:
        return "no bus";
    case Absent::silent:
        break;
    }
    return "no answer";
}

/// True when nothing but the level and what stands beside the cue differs: the same moment of the
/// same press.
bool same_cue(const ServiceState& one, const ServiceState& other);

/// The stage of that name; null when there is none.
const StageSeen* stage_named(const ServiceState& state, std::string_view name);

/// The stage that holding on leads to; null when the longest is reached.
const StageSeen* next_stage(const ServiceState& state);

/// True while time moves what a person sees: a hold on its way to a stage, or a countdown.
bool is_moving(const ServiceState& state, Instant now);

/// How much of the way from `since` to `until` has passed, 0 to 1.
double progress(const ServiceState& state, Instant now);

/// A time of the service's, microseconds of CLOCK_MONOTONIC: what is beyond our reach is never.
Instant instant_of(std::uint64_t microseconds);

}  // namespace nightlatch::tool
