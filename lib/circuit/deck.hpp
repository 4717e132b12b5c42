// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/stages.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <initializer_list>
#include <string>
#include <string_view>

namespace nightlatch::circuit {

inline std::string in_spice(double value) {
    std::array<char, 40> buffer{};
    const auto end = std::to_chars(
        buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::scientific, 9);
    return {buffer.data(), end.ptr};
}

/// The lines of a SPICE deck; `%` in a form stands for the next number.
class Deck {
public:
    void line(std::string_view form, std::initializer_list<double> numbers = {}) {
        const auto* number = numbers.begin();
        for (const char c : form) {
            text_ += c == '%' && number != numbers.end() ? in_spice(*number++) : std::string(1, c);
        }
        text_ += '\n';
    }

    /// Left out when it is not there.
    void resistor(std::string_view name_and_nodes, double ohms) {
        if (ohms != infinite) {
            line(std::string(name_and_nodes) + " %", {std::max(ohms, 1e-3)});
        }
    }

    [[nodiscard]] const std::string& text() const { return text_; }

private:
    std::string text_;
};

/// 0 or 1 around a voltage of nothing, some ten microvolts wide. Not the simulator's own switch:
/// that changes a whole time step late.
inline std::string above_zero(const std::string& difference) {
    return "(0.5+0.5*tanh((" + difference + ")*4e4))";
}

/// Diode, transistors, Zener diode and enable pin by the simulator's own device models, between
/// the nodes supply, gate, drain, latch, rail, hold and anode.
void write_devices(Deck& deck, const Values& values, const Stages& stages);

}  // namespace nightlatch::circuit
