// SPDX-License-Identifier: MIT
#pragma once

#include "config/reader.hpp"
#include "config/settings.hpp"

#include <optional>

namespace nightlatch::config {

/// [circuit], its values as they stand; one that is wrong, which the reader has been told, as an
/// empty text. Nothing when the section is not there, or is not a section.
std::optional<CircuitSection> read_circuit_section(const Table& root, Reader& reader);

}  // namespace nightlatch::config
