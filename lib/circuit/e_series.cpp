// SPDX-License-Identifier: MIT
#include "circuit/e_series.hpp"

#include <array>
#include <cmath>
#include <cstddef>

namespace nightlatch::circuit {
namespace {

/// E24 is older than the rule of the finer series, and a list; E12 and E6 are every second of it.
constexpr std::array e24{1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0,
                         3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1};

/// Equal to within rounding.
constexpr double hair = 1e-9;

struct Scaled {
    double mantissa = 1.0;  ///< from 1 on and below 10
    double decade = 1.0;
};

Scaled scaled(double value) {
    const double decade = std::pow(10.0, std::floor(std::log10(value) + hair));
    return {value / decade, decade};
}

double stepped_up(double value, Series series, double slack) {
    const auto [mantissa, decade] = scaled(value);
    for (const double candidate : values_of(series)) {
        if (candidate >= mantissa * (1.0 + slack)) {
            return candidate * decade;
        }
    }
    return 10.0 * decade;
}

double stepped_down(double value, Series series, double slack) {
    const auto [mantissa, decade] = scaled(value);
    const std::vector<double> values = values_of(series);
    for (std::size_t i = values.size(); i-- > 0;) {
        if (values[i] <= mantissa * (1.0 + slack)) {
            return values[i] * decade;
        }
    }
    return values.back() * decade / 10.0;
}

}  // namespace

std::vector<double> values_of(Series series) {
    const std::size_t step = e24.size() / static_cast<std::size_t>(series);
    std::vector<double> values;
    for (std::size_t i = 0; i < e24.size(); i += step) {
        values.push_back(e24[i]);
    }
    return values;
}

double next_up(double value, Series series) {
    return stepped_up(value, series, -hair);
}

double above(double value, Series series) {
    return stepped_up(value, series, hair);
}

double below(double value, Series series) {
    return stepped_down(value, series, -hair);
}

}  // namespace nightlatch::circuit
