// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram_lane.hpp"

#include <vector>

namespace nightlatch::picture::svg {

/// A remark of the author, numbered; its text is listed below the lanes.
struct NumberedRemark {
    Duration at{};
    std::string text;
    unsigned strip = 0;
    double x = 0;
    std::size_t number = 1;
};

/// The remarks that lie in what is drawn.
std::vector<NumberedRemark> notes_of(const Plot& plot);

/// The numbers, each where its remark belongs.
Lane note_lane(unsigned strip, const std::vector<NumberedRemark>& notes);

/// The texts by their numbers; the lane has neither name nor scale.
Lane note_list(const std::vector<NumberedRemark>& notes, const Across& across);

}  // namespace nightlatch::picture::svg
