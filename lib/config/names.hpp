// SPDX-License-Identifier: MIT
#pragma once

#include "config/reader.hpp"

#include <optional>
#include <string_view>
#include <vector>

namespace nightlatch::config {

/// Says of every section and key that is not one of ours so, with the section where it belongs or
/// the nearest name; and of the sections that this version does not act on, what that means.
void check_names(const Table& root, Reader& reader);

/// [name]: nothing, with an error, when it is there as something else than a table; an empty
/// section when it is absent.
std::optional<Section> one_section(const Table& root, std::string_view name, Reader& reader);

/// [[name]]: in the order of the text; nothing, with an error, when it is something else.
std::optional<std::vector<Section>> all_sections(const Table& root,
                                                 std::string_view name,
                                                 Reader& reader);

}  // namespace nightlatch::config
