// SPDX-License-Identifier: MIT
#pragma once

#include "audit/scene.hpp"

#include <set>
#include <string>
#include <vector>

namespace nightlatch::audit {

/// A line that the configuration names, with the key that names it.
struct NamedLine {
    const char* key = "";  ///< "button": the section
    lines::LineName where;
};

/// The button's, the post-halt line if stated, the alarm lines and the feedback lines.
std::vector<NamedLine> lines_of(const config::Settings& settings);

/// A line that the service opens.
struct OpenedLine {
    std::string what;          ///< in a sentence: "the button's line"
    std::string without;       ///< what it means not to have it: "the button is dead"
    bool is_input = true;      ///< what is at its other end drives it
    Known<PlacedLine> placed;  ///< or why it is not known where it is
};

/// The button's, the alarms' and the feedback lines; without settings the button's alone, unknown.
std::vector<OpenedLine> opened_lines(const Scene& scene);

/// The chips of those whose place is known.
std::set<std::string> chips_of(const std::vector<OpenedLine>& lines);

}  // namespace nightlatch::audit
