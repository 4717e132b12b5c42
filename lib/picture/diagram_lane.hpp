// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram_axis.hpp"
#include "picture/svg.hpp"

#include <string>

namespace nightlatch::picture::svg {

/// Left of the lanes' names.
constexpr double margin_of_names = 20;

/// One lane of one strip; its upper edge is at y = 0.
struct Lane {
    std::string name;
    std::string about;  ///< under the name, a few words
    double height = 0;
    double name_at = 0;  ///< the middle of what the name belongs to
    Svg body;
    Svg tags;              ///< texts, which no break crosses
    double graph_top = 0;  ///< breaks go through what is below: the texts stand above
};

/// What all lanes are drawn from.
struct Plot {
    const wave::Timeline& timeline;  ///< in order
    const Axis& axis;
};

}  // namespace nightlatch::picture::svg
