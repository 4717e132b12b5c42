// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/spread.hpp"

#include <string>

namespace nightlatch::hold_up {

using circuit::Range;
using circuit::Spread;
using circuit::Unit;

/// What holds the supply up after it has failed, what draws on it, and for how long it must last.
/// SI units, as lib/circuit's: each a spread.
///
///     supply (failed) --x--+--[ESR]--[store]-- ground
///                          |
///                          +--[converter]-- board
struct HoldUp {
    Unit unit = Unit::farad;  ///< of the capacity: farad, ampere_hour or watt_hour
    /// Of a capacitor; of a cell the charge (Ah) or the energy (Wh) between the two voltages.
    Spread capacity{};
    Spread end_of_life{};      ///< what is left of it then: 0 to 1
    Spread esr{};              ///< ohm, of capacitor or cell with the wires to it; 0: none
    Spread from_voltage{};     ///< V of the store, without load, when the supply fails
    Spread to_voltage{};       ///< V to which the store itself may fall, under load; 0: not stated
    Spread cut_out{};          ///< V at the converter's input below which it stops; 0: not stated
    Spread efficiency{};       ///< of the converter: 0 to 1
    Spread power{};            ///< W of the board; 0: a current is stated
    Spread current{};          ///< A: out of the store, or with a board_voltage, into the board
    Spread board_voltage{};    ///< V behind the converter; 0: there is none that converts
    Spread time_to_go_down{};  ///< s from the request until the file systems are safe
    Spread noticed_after{};    ///< s from the supply's failure to the request
    double margin = 0.0;       ///< s that are to be left over

    /// The board draws the same power however low the store is; else the same current.
    [[nodiscard]] bool is_constant_power() const {
        return power.most > 0.0 || board_voltage.most > 0.0;
    }
};

/// How a supply's failure becomes a request for power-off.
struct Notice {
    enum class By : unsigned char {
        alarm,   ///< by a line that tells
        button,  ///< by nothing: a person has to press
        stated,  ///< by other means; how soon is stated
    };
    By by = By::stated;
    std::string name;      ///< the alarm's
    bool respects = true;  ///< an inhibitor's lock refuses it
    /// The part of noticed_after that no setting makes shorter: the debounce interval. Seconds.
    double least = 0.0;
};

}  // namespace nightlatch::hold_up
