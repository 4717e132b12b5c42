// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram.hpp"
#include "picture/diagram_axis.hpp"
#include "picture/svg.hpp"

#include <string>
#include <string_view>

namespace nightlatch::picture::svg {

/// From the picture's edge to its texts.
constexpr double margin = 14;

/// The story, and small below it where it is from; gives the height at which the rest begins.
double draw_heading(Svg& svg, const DiagramTitle& title, const Across& across);

/// What the picture tells when it is read aloud: `name` first, then `words`.
struct Spoken {
    std::string_view name;
    std::string_view words;
};

/// The file that stands alone, with the picture's styles and `own_style` after them.
std::string whole_file(const Svg& body,
                       const Box& page,
                       const Spoken& spoken,
                       std::string_view own_style = {});

/// The text with one stop at its end, whatever it ended with; nothing for an empty one.
std::string sentence(std::string_view text);

}  // namespace nightlatch::picture::svg
