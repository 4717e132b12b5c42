// SPDX-License-Identifier: MIT
#pragma once

#include "config/reader.hpp"
#include "config/settings.hpp"

#include <optional>

namespace nightlatch::config {

/// [circuit], its values as they stand; nothing when the section is not there, or is wrong.
std::optional<CircuitSection> read_circuit_section(const Table& root, Reader& reader);

}  // namespace nightlatch::config
