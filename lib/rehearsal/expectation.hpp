// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "config/diagnostic.hpp"
#include "core/cue.hpp"
#include "core/settings.hpp"

#include <cstdint>
#include <string>
#include <variant>

namespace nightlatch::rehearsal {

/// At this moment the cue is shown, whenever it began.
struct ShowsCue {
    Duration at{};
    core::CueName cue = core::CueName::rest;

    bool operator==(const ShowsCue&) const = default;
};

/// The cue begins at this moment, give or take `within`.
struct BeginsCue {
    Duration at{};
    core::CueName cue = core::CueName::rest;
    Duration within{};

    bool operator==(const BeginsCue&) const = default;
};

/// The system is asked for it at this moment, give or take `within`.
struct AsksFor {
    Duration at{};
    core::Action action = core::Action::power_off;
    Duration within{};

    bool operator==(const AsksFor&) const = default;
};

/// The stage is announced at this moment, give or take `within`.
struct Announces {
    Duration at{};
    std::string stage;
    Duration within{};

    bool operator==(const Announces&) const = default;
};

/// The system is asked so often in all, for whatever.
struct RequestCount {
    std::uint32_t count = 0;

    bool operator==(const RequestCount&) const = default;
};

/// What the author of a press script says will happen. Times are since the start of the script.
///
///   [[expect]]
///   at = "20.4 s"
///   asks = "power-off"       # or: shows = "ready", begins = "ready", announces = "write now"
///   within = "10 ms"         # give or take; the default; not with `shows`
///
///   [[expect]]
///   requests = 1             # in all
struct Expectation {
    Place place;
    std::variant<ShowsCue, BeginsCue, AsksFor, Announces, RequestCount> what;

    bool operator==(const Expectation&) const = default;
};

}  // namespace nightlatch::rehearsal
