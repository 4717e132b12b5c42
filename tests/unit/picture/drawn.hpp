// SPDX-License-Identifier: MIT
#pragma once

#include "picture/svg.hpp"

#include <string>
#include <vector>

namespace nightlatch::testing {

/// A text of a picture, and what it covers: as wide as the picture itself takes it to be.
struct DrawnText {
    picture::svg::Box box;
    std::string words;
};

/// A path or a line, its classes and what it covers.
struct DrawnStroke {
    picture::svg::Box box;
    std::string look;
};

struct Drawn {
    std::vector<DrawnText> texts;
    std::vector<DrawnStroke> strokes;

    [[nodiscard]] std::vector<DrawnStroke> strokes_of(const std::string& look) const;
};

/// What is in a picture of ours, with all that moves it counted in.
Drawn read_drawn(const std::string& picture);

bool meet(const picture::svg::Box& a, const picture::svg::Box& b);

/// What a screen reader reads aloud after the title.
std::string description_of(const std::string& picture);

}  // namespace nightlatch::testing
