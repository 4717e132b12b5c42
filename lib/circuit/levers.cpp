// SPDX-License-Identifier: MIT
#include "circuit/levers.hpp"

#include "circuit/assumed.hpp"
#include "circuit/e_series.hpp"
#include "circuit/library.hpp"
#include "circuit/parameters.hpp"
#include "circuit/read.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace nightlatch::circuit {
namespace {

constexpr int most_steps = 40;  // more than three decades of E12
constexpr int digits = 9;       // so that it is read back as it was

const std::string* stated(const Circuit& circuit, std::string_view key) {
    const auto found = std::find_if(circuit.stated.begin(),
                                    circuit.stated.end(),
                                    [&](const Setting& one) { return one.key == key; });
    return found == circuit.stated.end() ? nullptr : &found->text;
}

std::string list_of(const Spread& spread, Unit unit) {
    return to_text(spread.least, unit, digits) + ", " + to_text(spread.typical, unit, digits) +
           ", " + to_text(spread.most, unit, digits);
}

/// The value with the tolerance that the old one has.
std::string moved_to(double value, const SpreadRead& old, Unit unit) {
    const Spread& spread = old.spread;
    std::string text = to_text(value, unit, digits);
    if (!old.tolerance_stated || spread.is_exact()) {
        return text;
    }
    const double below = 1.0 - spread.least / spread.typical;
    const double above = spread.most / spread.typical - 1.0;
    if (std::abs(below - above) < 1e-9) {
        return text + " +-" + number_text(100.0 * above) + " %";
    }
    const double factor = value / spread.typical;
    return list_of({spread.least * factor, value, spread.most * factor}, unit);
}

/// The kernel's delays by 1, 2, 5.
double stepped(double value, Unit unit, bool up) {
    if (unit == Unit::second) {
        const double decade = std::pow(10.0, std::floor(std::log10(value) + 1e-9));
        const double lead = value / decade;
        return decade * (lead < 1.99 ? 2.0 : lead < 4.99 ? 5.0 : 10.0);
    }
    const Series series = unit == Unit::farad ? Series::e6 : Series::e12;
    return up ? above(value, series) : below(value, series);
}

std::vector<Settings> values_of(const Circuit& circuit, const Lever& lever) {
    const auto index = parameter_named(lever.key);
    const Unit unit = index ? parameters()[*index].unit : Unit::second;
    const Range range = index ? parameters()[*index].range : Range{1e-6, 60.0};
    const std::string* text = stated(circuit, lever.key);
    SpreadRead old;
    double value = lever.start;
    bool there = false;
    if (text != nullptr && *text != "none") {
        if (const auto read = parse_spread(*text, unit, range)) {
            old = *read;
            value = old.spread.typical;
            there = true;
        }
    }
    std::vector<Settings> steps;
    for (int i = 0; value > 0.0 && i < most_steps; ++i) {
        value = there || i > 0 ? stepped(value, unit, lever.way == Lever::Way::up) : value;
        if (value < range.least || value > range.most) {
            break;
        }
        steps.push_back({{std::string(lever.key), moved_to(value, old, unit)}});
    }
    return steps;
}

/// What the part's own keys would say of it: they override the part, where they are stated.
Settings overriding(const std::string& stage, const LibraryTransistor& part) {
    const auto published = [](double value, Unit unit) {
        return value > 0.0 ? to_text(value, unit, digits) : std::string();
    };
    std::string on;
    for (const OnResistance& one : part.on) {
        on += (on.empty() ? "" : ", ") + to_text(one.ohms, Unit::ohm, digits) + " at " +
              to_text(one.gate_drive, Unit::volt, digits);
    }
    return {{stage + "threshold", list_of(part.threshold.value, Unit::volt)},
            {stage + "gate_limit", published(part.gate_limit.value, Unit::volt)},
            {stage + "drain_limit", published(part.drain_limit.value, Unit::volt)},
            {stage + "current_limit", published(part.current_limit.value, Unit::ampere)},
            {stage + "thermal_resistance",
             published(part.thermal_resistance.value, Unit::kelvin_per_watt)},
            {stage + "on_resistance", on},
            {stage + "resistance", published(part.on.front().ohms, Unit::ohm)}};
}

Settings overriding(const LibraryDiode& part) {
    std::string drops;
    for (const DropPoint& one : part.drops) {
        drops += (drops.empty() ? "" : ", ") + to_text(one.drop, Unit::volt, digits) + " at " +
                 to_text(one.current, Unit::ampere, digits);
    }
    return {{"diode_drop", drops}, {"diode_leakage", list_of(part.leakage.value, Unit::ampere)}};
}

/// The library's part under the key, and its values where own keys would override them; nothing
/// where such a value is not known.
std::optional<Settings> named(const Circuit& circuit,
                              std::string_view key,
                              std::string_view name,
                              const Settings& own) {
    Settings settings{{std::string(key), std::string(name)}};
    for (const Setting& one : own) {
        if (stated(circuit, one.key) == nullptr) {
            continue;
        }
        if (one.text.empty()) {
            return std::nullopt;
        }
        settings.push_back(one);
    }
    return settings;
}

std::vector<Settings> parts_of(const Circuit& circuit, std::string_view key) {
    const std::string* now = stated(circuit, key);
    const std::string stage(key.substr(0, key.find('_') + 1));
    std::vector<Settings> steps;
    const auto add = [&](std::string_view name, const Settings& own) {
        if (now != nullptr && *now == name) {
            return;
        }
        if (auto settings = named(circuit, key, name, own)) {
            steps.push_back(std::move(*settings));
        }
    };
    if (key == "diode") {
        for (const LibraryDiode& part : library_diodes()) {
            add(part.name, overriding(part));
        }
        return steps;
    }
    for (const LibraryTransistor& part : library_transistors()) {
        add(part.name, overriding(stage, part));
    }
    return steps;
}

/// "47 uF" of "37.6 uF, 47 uF, 56.4 uF": tolerances are for the line to paste.
std::string in_short(std::string_view key, const std::string& text) {
    const auto index = parameter_named(key);
    if (!index) {
        return text;
    }
    const Parameter& parameter = parameters()[*index];
    const auto read = parse_spread(text, parameter.unit, parameter.range);
    return read ? to_text(read->spread.typical, parameter.unit) : text;
}

/// "hold capacitor 68 uF instead of 47 uF"
std::string change_in(const Circuit& circuit, const Setting& setting) {
    std::string words = setting.key;
    std::replace(words.begin(), words.end(), '_', ' ');
    words += " " + in_short(setting.key, setting.text);
    const std::string* before = stated(circuit, setting.key);
    if (before != nullptr && *before != "none") {
        return words + " instead of " + in_short(setting.key, *before);
    }
    const bool none =
        before != nullptr || (parameter_named(setting.key) && !assumed_for(setting.key));
    return none ? words + " where there is none" : words;
}

}  // namespace

std::vector<Settings> steps_of(const Circuit& circuit, const Lever& lever) {
    return lever.way == Lever::Way::part ? parts_of(circuit, lever.key) : values_of(circuit, lever);
}

std::optional<Circuit> with(const Circuit& circuit, const Settings& settings) {
    std::vector<NamedText> texts;
    texts.reserve(circuit.stated.size() + settings.size());
    for (const Setting& one : circuit.stated) {
        texts.push_back({one.key, one.text, {}});
    }
    for (const Setting& one : settings) {
        const auto found = std::find_if(
            texts.begin(), texts.end(), [&](const NamedText& text) { return text.key == one.key; });
        if (found != texts.end()) {
            found->text = one.text;
        } else {
            texts.push_back({one.key, one.text, {}});
        }
    }
    return circuit.stated.empty() ? std::nullopt : read_circuit(texts).circuit;
}

std::string words_of(const Circuit& circuit, const Settings& settings) {
    std::string words;
    std::string_view stage;  // of the last part, whose values need no words of their own
    for (const Setting& one : settings) {
        if (find_part(library_transistors(), one.text) || find_part(library_diodes(), one.text)) {
            stage = std::string_view(one.key).substr(0, one.key.find('_'));
        } else if (!stage.empty() && one.key.starts_with(stage) && !one.key.ends_with("_pull")) {
            continue;
        }
        words += (words.empty() ? "" : ", ") + change_in(circuit, one);
    }
    return words;
}

}  // namespace nightlatch::circuit
