// SPDX-License-Identifier: MIT
#include "circuit/wire.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numbers>

namespace nightlatch::circuit {

double wire_diameter(int gauge) {
    return 0.127e-3 * std::pow(92.0, (36.0 - gauge) / 39.0);
}

double wire_resistance(int gauge, double metres, double celsius) {
    constexpr double resistivity = 1.7241e-8;
    constexpr double rise = 0.00393;
    const double diameter = wire_diameter(gauge);
    const double area = std::numbers::pi * diameter * diameter / 4.0;
    return 2.0 * metres * resistivity * (1.0 + rise * (celsius - 20.0)) / area;
}

Result<int, std::string> parse_gauge(std::string_view text) {
    int gauge = -1;
    const auto read = std::from_chars(text.data(), text.data() + text.size(), gauge);
    const std::string_view rest = text.substr(static_cast<std::size_t>(read.ptr - text.data()));
    const bool unit = rest == " AWG" || rest == "AWG";
    if (read.ec != std::errc{} || !unit || gauge < thickest_gauge || gauge > thinnest_gauge) {
        const std::size_t digit = std::min(text.find_first_of("0123456789"), text.size());
        const std::string_view number = text.substr(digit);
        return Unexpected{R"(a wire's gauge is wanted, 0 to 40: "20 AWG", "24 AWG")" +
                          (text.starts_with("AWG") && !number.empty()
                               ? "; was " + in_quotes(std::string(number) + " AWG") + " meant?"
                               : std::string())};
    }
    return gauge;
}

}  // namespace nightlatch::circuit
