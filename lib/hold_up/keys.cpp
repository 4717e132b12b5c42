// SPDX-License-Identifier: MIT
#include "hold_up/keys.hpp"

#include <array>

namespace nightlatch::hold_up {
namespace {

constexpr Range volts{0.3, 60.0};
constexpr Range a_part{0.05, 1.0};

// clang-format off
constexpr std::array table{
    Key{"capacity", "the capacitor's capacitance", Unit::farad, {1e-4, 10e3}, &HoldUp::capacity},
    Key{"capacity", "the cell's charge between the two voltages", Unit::ampere_hour, {1e-5, 1e3}, &HoldUp::capacity},
    Key{"capacity", "the cell's energy between the two voltages", Unit::watt_hour, {1e-5, 10e3}, &HoldUp::capacity},
    Key{"end_of_life", "the part of its capacity that is left at the end of its life", Unit::factor, a_part, &HoldUp::end_of_life},
    Key{"esr", "the store's ESR, with the wires to it", Unit::ohm, {1e-5, 1e3}, &HoldUp::esr},
    Key{"from_voltage", "the store's voltage when the supply fails", Unit::volt, volts, &HoldUp::from_voltage},
    Key{"to_voltage", "the voltage to which the store may fall", Unit::volt, volts, &HoldUp::to_voltage},
    Key{"cut_out", "the converter's cut-out", Unit::volt, volts, &HoldUp::cut_out},
    Key{"efficiency", "the converter's efficiency", Unit::factor, a_part, &HoldUp::efficiency},
    Key{"power", "the board's power while it goes down", Unit::watt, {1e-3, 1e3}, &HoldUp::power},
    Key{"current", "the current while it goes down", Unit::ampere, {1e-4, 50.0}, &HoldUp::current},
    Key{"board_voltage", "the voltage behind the converter", Unit::volt, volts, &HoldUp::board_voltage},
    Key{"time_to_go_down", "the time to go down", Unit::second, {1e-2, 3'600.0}, &HoldUp::time_to_go_down},
    Key{"noticed_after", "the time until the failure is noticed", Unit::second, {1e-3, 86'400.0}, &HoldUp::noticed_after},
};
// clang-format on

}  // namespace

std::span<const Key> keys() noexcept {
    return table;
}

std::vector<std::string_view> key_names() {
    std::vector<std::string_view> names;
    names.reserve(table.size() + 2);
    for (const Key& key : table) {
        if (names.empty() || names.back() != key.name) {
            names.push_back(key.name);
        }
    }
    names.insert(names.end(), {"alarm", "margin"});
    return names;
}

}  // namespace nightlatch::hold_up
