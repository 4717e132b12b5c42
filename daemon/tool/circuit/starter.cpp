// SPDX-License-Identifier: MIT
#include "daemon/tool/circuit/starter.hpp"

#include "audit/needed_pulse.hpp"
#include "circuit/parameters.hpp"
#include "daemon/tool/json.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::tool {
namespace {

using circuit::Setting;

constexpr unsigned circuits_drawn = 1'000;

struct Line {
    const char* key;
    const char* text;
    const char* comment;
};

/// What only the maker knows, with examples.
constexpr std::array known{
    Line{"supply_voltage", "4.9 V, 5.1 V, 5.25 V", "at the source's terminals, without load"},
    Line{"load_current", "0.3 A, 0.9 A", "the board, from idle to full load"},
    Line{"halt_current", "150 mA, 400 mA", "after halt, the supply still on: measure it"},
    Line{"rail_capacitance", "500 uF +-20 %", "all capacitors on the board's supply together"},
    Line{"line_high", "3.3 V +-5 %", "level of the post-halt line"}};

/// Of a board on 5 V with a small soft latch (common practice, no source).
constexpr std::array practice{
    Line{"source_resistance", "0.1 ohm, 0.15 ohm, 0.3 ohm", "of the supply, with its cable"},
    Line{"cut_out", "2.8 V, 3.2 V, 3.6 V", "where the board's regulator stops drawing"},
    Line{"rail_bleeder", "150 ohm", "across the rail, which lingers without it; or none"},
    Line{"series_resistor", "270 ohm", "from the line to the diode: spares the pin"},
    Line{"diode", "BAT54", "keeps the hold capacitor from the dead line"},
    Line{"hold_capacitor", "33 uF", "keeps the latch released while the rail falls"},
    Line{"hold_capacitor_class", "electrolytic", "or X7R, X5R, film"},
    Line{"bleed_resistor", "330 kohm", "across it, or the next switch-on fails"},
    Line{"release_transistor", "BSS138", "takes the latch transistor's gate down"},
    Line{"feed_resistor", "22 kohm", "from the rail to that gate"},
    Line{"latch_transistor", "2N7002", "holds the main switch on"},
    Line{"gate_pull", "47 kohm", "from the supply to the main switch's gate"},
    Line{"main_switch", "AO3401A", "P-channel; nightlatch-circuit(1) has the list"},
    Line{"button_resistor", "1 kohm", "between gate and button"}};

/// Whose line says what is missing: a part has its values.
std::string_view line_for(std::string_view key) {
    return key == "main_threshold"      ? "main_switch"
           : key == "latch_threshold"   ? "latch_transistor"
           : key == "release_threshold" ? "release_transistor"
           : key == "diode_leakage"     ? "diode"
                                        : key;
}

std::optional<Setting> practice_for(std::string_view key) {
    const auto* const found = std::find_if(
        practice.begin(), practice.end(), [&](const Line& one) { return one.key == key; });
    return found == practice.end() ? std::nullopt : std::optional(Setting{found->key, found->text});
}

std::string line_of(const char* before, const Line& line) {
    std::string text = before + circuit::to_text(Setting{line.key, line.text});
    text.resize(std::max<std::size_t>(text.size(), 44), ' ');
    return text + "  # " + line.comment + "\n";
}

UnknownCircuit::Missing missing_for(const circuit::Problem& problem) {
    const std::string key(line_for(problem.key));
    const auto index = circuit::parameter_named(problem.key);
    std::string words = index ? std::string(circuit::parameters()[*index].words)
                              : problem.text.substr(problem.text.find(": ") + 2);
    return {key, key == "diode" ? "the diode" : std::move(words), practice_for(key)};
}

/// The circuit with the starter's lines where values are missing.
void assume_practice(const config::CircuitSection& section, UnknownCircuit& unknown) {
    config::CircuitSection filled = section;
    for (const UnknownCircuit::Missing& one : unknown.missing) {
        if (!one.practice) {
            return;
        }
        filled.texts.push_back({one.practice->key, one.practice->text, {}});
    }
    const circuit::CircuitRead read = audit::read_section(filled);
    if (!read.circuit) {
        return;
    }
    unknown.assuming = circuit::assess(*read.circuit, circuits_drawn);
    const auto rank = [&](const UnknownCircuit::Missing& one) {
        const auto& all = unknown.assuming->sensitivities;
        return std::find_if(all.begin(),
                            all.end(),
                            [&](const circuit::Sensitivity& sensitivity) {
                                return line_for(circuit::parameters()[sensitivity.parameter].key) ==
                                       one.key;
                            }) -
               all.begin();
    };
    std::stable_sort(unknown.missing.begin(),
                     unknown.missing.end(),
                     [&](const auto& one, const auto& other) { return rank(one) < rank(other); });
}

std::string headline(const UnknownCircuit& unknown) {
    const std::size_t count = unknown.missing.size();
    return count == 1 ? "One value is missing." : std::to_string(count) + " values are missing.";
}

std::string assuming_sentence(const UnknownCircuit& unknown) {
    return "With common practice in their places the answer would be: " +
           unknown.assuming->headline;
}

}  // namespace

std::string starter() {
    std::string text =
        "# A [circuit] to start from. Fill in the five values that only you know, remove the\n"
        "# \"# \" before them, and run: nightlatch circuit FILE\n"
        "# \"1 V, 2 V, 3 V\" is least, typical, largest; \"1 V, 3 V\" the ends; \"+-20 %\" a\n"
        "# tolerance. All keys: nightlatch-circuit(1)\n"
        "[circuit]\n\n# What only you know; these are examples.\n";
    for (const Line& line : known) {
        text += line_of("# ", line);
    }
    text += "\n# Common practice for a board on 5 V, no source: put in what your circuit has.\n";
    for (const Line& line : practice) {
        text += line_of("", line);
    }
    return text +
           "\n# What is not stated is assumed: nightlatch circuit --all FILE says what.\n"
           "# This is not a safety function, and \"off\" is not isolation: fuse the source, and "
           "mind\n# the cautions of nightlatch-circuit(1) before you build it.\n";
}

std::optional<UnknownCircuit> unknown_in(const config::CircuitSection& section,
                                         const circuit::CircuitRead& read) {
    UnknownCircuit unknown;
    for (const circuit::Problem& problem : read.problems) {
        if (problem.place != Place{}) {
            return std::nullopt;
        }
        UnknownCircuit::Missing missing = missing_for(problem);
        const bool told = std::any_of(unknown.missing.begin(),
                                      unknown.missing.end(),
                                      [&](const auto& one) { return one.key == missing.key; });
        if (!told) {
            unknown.missing.push_back(std::move(missing));
        }
    }
    if (unknown.missing.empty()) {
        return std::nullopt;
    }
    std::stable_partition(unknown.missing.begin(), unknown.missing.end(), [](const auto& one) {
        return !one.practice;
    });
    assume_practice(section, unknown);
    return unknown;
}

std::string unknown_text(const UnknownCircuit& unknown, const page::Style& style) {
    page::Page page(style);
    page.raw("stays off: " + page.painted("not known yet", page::Paint::doubtful) + "\n");
    page.paragraph("    ", headline(unknown), 4);
    if (unknown.assuming) {
        page.paragraph("    ", assuming_sentence(unknown), 4);
    }
    const UnknownCircuit::Missing& first = unknown.missing.front();
    page.paragraph("next: ", "state " + first.key + " in [circuit]: " + first.words + ".", 6);
    page.raw("\nWhat decides, first what decides most\n");
    std::vector<page::Row> rows;
    rows.reserve(unknown.missing.size());
    for (const UnknownCircuit::Missing& one : unknown.missing) {
        rows.push_back({one.key,
                        one.words + (one.practice ? "; common practice: " + one.practice->text
                                                  : std::string("; only you know"))});
    }
    page.raw(page::table(rows, {.indent = 2, .wrapped_at = page.style().columns}));
    page.raw("\nA whole section to start from: nightlatch circuit --starter\n");
    return page.str();
}

std::string unknown_json(const UnknownCircuit& unknown, const std::string& file) {
    Json missing = Json::array();
    for (const UnknownCircuit::Missing& one : unknown.missing) {
        missing.push_back({{"key", one.key},
                           {"text", one.words},
                           {"practice", one.practice ? Json(one.practice->text) : Json()}});
    }
    Json json{{"file", file},
              {"fine", false},
              {"stays_off", "not known yet"},
              {"text", headline(unknown)},
              {"missing", std::move(missing)},
              {"assuming", nullptr}};
    if (unknown.assuming) {
        json["assuming"] = {{"stays_off", text_of(unknown.assuming->stays_off)},
                            {"text", unknown.assuming->headline}};
    }
    return json_text("nightlatch-circuit", circuit_json_version, json);
}

}  // namespace nightlatch::tool
