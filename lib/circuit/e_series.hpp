// SPDX-License-Identifier: MIT
#pragma once

#include <vector>

namespace nightlatch::circuit {

/// Preferred numbers of resistors and capacitors [IEC 60063:2015]; the number is how many a decade.
enum class Series : int { e6 = 6, e12 = 12, e24 = 24 };

/// One decade's values, from 1.0 on and below 10.
std::vector<double> values_of(Series series);

/// The smallest value of the series that is at least `value`, which is above zero.
double next_up(double value, Series series);

/// The value of the series that follows, or comes before: `value` itself is not an answer.
double above(double value, Series series);
double below(double value, Series series);

}  // namespace nightlatch::circuit
