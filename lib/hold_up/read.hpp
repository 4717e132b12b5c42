// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/read.hpp"
#include "hold_up/hold_up.hpp"

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::hold_up {

/// An alarm of the same configuration that asks for power-off. Seconds.
struct PowerOffAlarm {
    std::string name;
    double lasting = 0.0;
    bool respects = true;  ///< its `inhibitors`
};

/// What the rest of the configuration says of how a failure becomes a request. Seconds.
struct Surroundings {
    bool known = false;  ///< a whole configuration, without errors
    std::vector<PowerOffAlarm> alarms;
    double debounce = 0.0;  ///< of a line that becomes active
    /// From the begin of a press to the request: the longest hold that asks for power-off, the
    /// release interval and the grace; 0: no stage asks for it.
    double by_button = 0.0;
};

struct HoldUpRead {
    std::optional<HoldUp> hold_up;           ///< when there is no problem
    std::vector<circuit::Problem> problems;  ///< by place; keys as in the configuration
    std::vector<std::string> assumptions;    ///< as CircuitRead's
    Notice notice;
};

/// How the keys of [circuit.hold_up] begin in what lib/config hands on.
constexpr std::string_view prefix = "hold_up.";

/// Reads those of the texts whose keys begin with `prefix`. What is not there stands at the very
/// beginning, as in circuit::read_circuit().
///
/// noticed_after comes from the alarm of the name, else from the one with the longest `lasting`,
/// and where no alarm asks for power-off, from the button. An alarm's line is debounced, too: the
/// longer of the two counts.
HoldUpRead read_hold_up(std::span<const circuit::NamedText> texts,
                        const Surroundings& surroundings);

/// Whether there is anything of it.
bool is_stated(std::span<const circuit::NamedText> texts);

}  // namespace nightlatch::hold_up
