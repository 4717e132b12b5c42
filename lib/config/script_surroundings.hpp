// SPDX-License-Identifier: MIT
#pragma once

#include "config/press_script.hpp"
#include "config/reader.hpp"

#include <optional>

namespace nightlatch::config {

/// What else happens in a press script than at the button. Each reads one table and gives nothing,
/// having said why, where something is wrong.

/// [[login_manager]]
std::optional<ScriptEvent> read_login_manager(const Section& section, Reader& reader);

/// [[service]]
std::optional<ScriptEvent> read_service(const Section& section, Reader& reader);

/// [[expect]]
std::optional<Expectation> read_expectation(const Section& section, Reader& reader);

}  // namespace nightlatch::config
