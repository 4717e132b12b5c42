// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/read.hpp"

#include <algorithm>
#include <string>
#include <vector>

namespace nightlatch::circuit {

using Texts = std::vector<NamedText>;

/// What the tide-gauge logger's owner writes, a key a line.
inline Texts logger() {
    Texts texts{{"supply_voltage", "4.9 V, 5.1 V, 5.25 V", {}},
                {"load_current", "0.3 A, 0.9 A", {}},
                {"halt_current", "150 mA, 400 mA", {}},
                {"rail_capacitance", "500 uF +-20 %", {}},
                {"cut_out", "3.0 V, 3.4 V", {}},
                {"rail_bleeder", "220 ohm", {}},
                {"line_high", "3.3 V +-5 %", {}},
                {"series_resistor", "270 ohm", {}},
                {"diode", "BAT54", {}},
                {"hold_capacitor", "47 uF", {}},
                {"hold_capacitor_class", "electrolytic", {}},
                {"bleed_resistor", "150 k", {}},
                {"release_transistor", "BSS138", {}},
                {"latch_transistor", "BSS138", {}},
                {"feed_resistor", "22 k", {}},
                {"gate_pull", "47 k", {}},
                {"main_switch", "AO3401A", {}},
                {"wire_gauge", "22 AWG", {}},
                {"wire_length", "40 cm", {}}};
    for (unsigned i = 0; i < texts.size(); ++i) {
        texts[i].place = {i + 2, 1};
    }
    return texts;
}

inline Texts logger_with(const std::string& key, const std::string& text) {
    Texts texts = logger();
    const auto found = std::find_if(
        texts.begin(), texts.end(), [&](const NamedText& one) { return one.key == key; });
    if (found == texts.end()) {
        texts.push_back({key, text, {40, 5}});
    } else {
        found->text = text;
    }
    return texts;
}

inline Texts without(Texts texts, const std::string& key) {
    std::erase_if(texts, [&](const NamedText& one) { return one.key == key; });
    return texts;
}

}  // namespace nightlatch::circuit
