// SPDX-License-Identifier: MIT
#pragma once

#include "audit/scene.hpp"

#include <vector>

namespace nightlatch::audit {

/// A line that the configuration names, with the key that names it.
struct NamedLine {
    const char* key = "";  ///< "button": the section
    lines::LineName where;
};

/// The button's, the post-halt line if stated, and the feedback lines.
std::vector<NamedLine> lines_of(const config::Settings& settings);

}  // namespace nightlatch::audit
