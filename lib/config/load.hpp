// SPDX-License-Identifier: MIT
#pragma once

#include "config/diagnostic.hpp"
#include "config/settings.hpp"

#include <optional>
#include <string_view>
#include <vector>

namespace nightlatch::config {

/// What came of a configuration's text.
struct [[nodiscard]] Loaded {
    std::optional<Settings> settings;  ///< there exactly when `diagnostics` has no error
    Diagnostics diagnostics;  ///< all of them, by place; warnings and notes also on success
    /// What works as it stands and may be hard on the person at the button, or on the unit: by
    /// place, warnings and notes for whoever writes the configuration. The service has no use for
    /// them.
    Diagnostics advice;
};

/// Reads and checks a configuration: TOML 1.0.0 [https://toml.io/en/v1.0.0], UTF-8, any bytes are
/// safe. Of a text that is not TOML the first syntax error; otherwise every problem in one run.
///
/// Stages come in ascending order of hold. `threshold_guard` keeps its default. Not optional:
/// button.chip, button.line, button.pressed, and a name, a hold and an action for each of one or
/// more stages. `pressed` has no default because a wrong one is not harmless: with the levels
/// swapped the pause between two taps reads as a hold.
Loaded load(std::string_view text);

/// What came of a text's [circuit].
struct [[nodiscard]] LoadedCircuit {
    /// Nothing when there is none. A value of which `diagnostics` tell is an empty text in it.
    std::optional<CircuitSection> section;
    Diagnostics diagnostics;  ///< of this section only, or a syntax error
};

/// Only the section [circuit], whatever else the text has or lacks: a file with nothing else in it
/// is as good as a whole configuration. Values are texts, since a bare number has no unit.
LoadedCircuit load_circuit(std::string_view text);

/// Only the section [post_halt], whatever else the text has or lacks, and what of it can be read.
PostHalt load_post_halt(std::string_view text);

/// What came of a text's [logbook].
struct [[nodiscard]] LoadedLogbook {
    LogbookSettings settings;  ///< what is left out or wrong has its default
    Diagnostics diagnostics;   ///< of this section only, or a syntax error
};

/// Only the section [logbook], whatever else the text has or lacks: a mistake elsewhere loses no
/// record.
LoadedLogbook load_logbook(std::string_view text);

/// The [[feedback]] sections that can show that a configuration is bad, whatever else is wrong with
/// it, also with its TOML: those whose output and look of `fault` can be read.
std::vector<Feedback> load_feedback(std::string_view text);

}  // namespace nightlatch::config
