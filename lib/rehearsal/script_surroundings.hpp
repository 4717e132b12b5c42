// SPDX-License-Identifier: MIT
#pragma once

#include "config/reader.hpp"
#include "rehearsal/press_script.hpp"

#include <optional>

namespace nightlatch::rehearsal {

/// What else happens in a press script than at the button. Each reads one table and gives nothing,
/// having said why, where something is wrong.

/// [[login_manager]]
std::optional<ScriptEvent> read_login_manager(const config::Section& section,
                                              config::Reader& reader);

/// [[service]]
/// [[alarm]]: the level comes, and goes again where that is said.
std::optional<std::vector<ScriptEvent>> read_alarm(const config::Section& section,
                                                   config::Reader& reader);

std::optional<ScriptEvent> read_service(const config::Section& section, config::Reader& reader);

/// [[expect]]
std::optional<Expectation> read_expectation(const config::Section& section, config::Reader& reader);

}  // namespace nightlatch::rehearsal
