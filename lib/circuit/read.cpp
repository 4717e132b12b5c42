// SPDX-License-Identifier: MIT
#include "circuit/read.hpp"

#include "base/nearest.hpp"
#include "circuit/assumed.hpp"
#include "circuit/library.hpp"
#include "circuit/parameters.hpp"
#include "circuit/read_lists.hpp"
#include "circuit/wire.hpp"

#include <algorithm>
#include <array>
#include <utility>

namespace nightlatch::circuit {
namespace {

constexpr std::array other_keys{std::string_view{"main_switch"},
                                std::string_view{"latch_transistor"},
                                std::string_view{"release_transistor"},
                                std::string_view{"diode"},
                                std::string_view{"diode_drop"},
                                std::string_view{"main_on_resistance"},
                                std::string_view{"main_gate_limit"},
                                std::string_view{"main_drain_limit"},
                                std::string_view{"latch_gate_limit"},
                                std::string_view{"latch_drain_limit"},
                                std::string_view{"release_gate_limit"},
                                std::string_view{"release_drain_limit"},
                                std::string_view{"main_current_limit"},
                                std::string_view{"main_thermal_resistance"},
                                std::string_view{"hold_capacitor_class"},
                                std::string_view{"wire_gauge"},
                                std::string_view{"wire_length"},
                                std::string_view{"active_delay"},
                                std::string_view{"inactive_delay"},
                                std::string_view{"timeout"},
                                std::string_view{"board_minimum"},
                                std::string_view{"battery"},
                                std::string_view{"margin"},
                                std::string_view{"supply_rise"}};

bool is_resistor_part(std::string_view key) {
    return key.ends_with("_resistor") || key.ends_with("_pull") || key == "rail_bleeder";
}

class Reader {
public:
    explicit Reader(std::span<const NamedText> texts) : texts_(texts) {}

    CircuitRead run() {
        find_unknown_and_repeated();
        read_parts();
        read_parameters();
        read_lists();
        read_single_values();
        read_wires();
        check_together();
        std::stable_sort(
            read_.problems.begin(), read_.problems.end(), [](const Problem& a, const Problem& b) {
                return std::pair{a.place.line, a.place.column} <
                       std::pair{b.place.line, b.place.column};
            });
        if (read_.problems.empty()) {
            read_.circuit = circuit_;
        }
        return std::move(read_);
    }

private:
    [[nodiscard]] const NamedText* text_of(std::string_view key) const {
        const auto found = std::find_if(
            texts_.begin(), texts_.end(), [&](const NamedText& text) { return text.key == key; });
        return found == texts_.end() ? nullptr : &*found;
    }

    void problem(const NamedText& text, std::string sentence) {
        read_.problems.push_back({text.place, text.key, std::move(sentence)});
    }

    void missing(std::string_view key, const std::string& sentence) {
        read_.problems.push_back({{}, std::string(key), sentence});
    }

    void find_unknown_and_repeated() {
        const std::vector<std::string_view> known = circuit_keys();
        for (std::size_t i = 0; i < texts_.size(); ++i) {
            const NamedText& text = texts_[i];
            if (text_of(text.key) != &text) {
                problem(text, "is there twice");
            }
            if (std::find(known.begin(), known.end(), text.key) == known.end()) {
                const auto near = nearest(text.key, known);
                problem(text,
                        near ? "is unknown; did you mean " + std::string(*near) + "?"
                             : std::string("is unknown"));
            }
        }
    }

    /// The part that the key names; a problem when the library has none of the name.
    template <class Part>
    const Part* part_named(std::string_view key,
                           std::span<const Part> parts,
                           const Part* (*find)(std::string_view) noexcept) {
        const NamedText* text = text_of(key);
        if (text == nullptr || text->text == "none") {
            return nullptr;
        }
        if (const Part* part = find(text->text)) {
            return part;
        }
        std::vector<std::string_view> names;
        names.reserve(parts.size());
        std::string list;
        for (const Part& part : parts) {
            names.push_back(part.name);
            list += (list.empty() ? "" : ", ") + std::string(part.name);
        }
        const auto near = nearest(text->text, names);
        problem(*text,
                "is not in the library" +
                    (near ? "; did you mean " + std::string(*near) + "?" : ".") + " It has " +
                    list + "; give the values of another part as keys of their own");
        return nullptr;
    }

    void read_parts() {
        const auto known = library_transistors();
        if (const auto* part = part_named("main_switch", known, &find_transistor)) {
            check_channel("main_switch", *part, true);
            circuit_.parts.main_threshold = part->threshold.value;
            circuit_.main_switch = {{part->on.begin(), part->on.end()},
                                    part->gate_limit.value,
                                    part->drain_limit.value,
                                    part->current_limit.value,
                                    part->thermal_resistance.value};
        }
        if (const auto* part = part_named("latch_transistor", known, &find_transistor)) {
            check_channel("latch_transistor", *part, false);
            circuit_.parts.latch_threshold = part->threshold.value;
            circuit_.latch = {part->gate_limit.value, part->drain_limit.value};
        }
        if (const auto* part = part_named("release_transistor", known, &find_transistor)) {
            check_channel("release_transistor", *part, false);
            circuit_.parts.release_threshold = part->threshold.value;
            circuit_.release = {part->gate_limit.value, part->drain_limit.value};
            circuit_.parts.release_resistance = Spread::exactly(part->on.front().ohms);
        }
        if (const auto* part = part_named("diode", library_diodes(), &find_diode)) {
            circuit_.diode.count = part->drops.size();
            std::copy(part->drops.begin(), part->drops.end(), circuit_.diode.points.begin());
            circuit_.parts.diode_leakage = part->leakage.value;
        }
        kind_ = part_named("hold_capacitor_class", capacitor_classes(), &find_capacitor_class);
    }

    void check_channel(std::string_view key, const LibraryTransistor& part, bool p_channel) {
        if (part.p_channel != p_channel) {
            problem(*text_of(key),
                    std::string(part.name) + " is " + (part.p_channel ? "P" : "N") +
                        "-channel; wanted is one of the other kind");
        }
    }

    void read_parameters() {
        for (const Parameter& parameter : parameters()) {
            const NamedText* text = text_of(parameter.key);
            Spread& spread = circuit_.parts.*parameter.spread;
            if (text == nullptr) {
                assume(parameter, spread);
            } else if (text->text == "none") {
                leave_out(parameter, *text, spread);
            } else {
                read_one(parameter, *text, spread);
            }
        }
    }

    void leave_out(const Parameter& parameter, const NamedText& text, Spread& spread) {
        if (parameter.absent == Absent::required) {
            problem(text, "cannot be left out");
            return;
        }
        spread = Spread::exactly(parameter.absent == Absent::zero ? 0.0 : infinite);
    }

    void read_one(const Parameter& parameter, const NamedText& text, Spread& spread) {
        const auto read = parse_spread(text.text, parameter.unit, parameter.range);
        if (!read) {
            problem(text, read.error());
            return;
        }
        spread = read->spread;
        if (parameter.key == "hold_capacitor" && kind_ != nullptr) {
            spread = effective_capacitance(*kind_, spread, read->tolerance_stated);
        } else if (!read->tolerance_stated && is_resistor_part(parameter.key)) {
            spread = Spread::within(spread.typical, resistor_tolerance);
        }
    }

    void assume(const Parameter& parameter, Spread& spread) {
        if (is_of_a_named_part(parameter.key)) {
            return;
        }
        if (is_usually_absent(parameter.key)) {
            spread = Spread::exactly(parameter.absent == Absent::zero ? 0.0 : infinite);
            return;
        }
        if (parameter.key == "hold_leakage" && kind_ != nullptr) {
            const Spread& capacitor = circuit_.parts.hold_capacitor;
            spread = capacitor_leakage(*kind_, capacitor.most, circuit_.parts.line_high.most);
            return;
        }
        if (parameter.key == "wire_resistance" && text_of("wire_gauge") != nullptr) {
            return;
        }
        const Assumed* found = assumed_for(parameter.key);
        if (found == nullptr) {
            missing(parameter.key, what_is_missing(parameter));
            return;
        }
        spread = found->spread;
        read_.assumptions.push_back(std::string(parameter.words) +
                                    " is not stated: " + to_text(spread, parameter.unit) +
                                    " is assumed (" + std::string(found->why) + ")");
    }

    /// A name that the library does not have is a problem by itself.
    [[nodiscard]] bool is_of_a_named_part(std::string_view key) const {
        const bool diode = key == "diode_leakage";
        const std::string_view part = key == "main_threshold"    ? "main_switch"
                                      : key == "latch_threshold" ? "latch_transistor"
                                      : diode                    ? "diode"
                                                                 : "release_transistor";
        const bool has_part = diode || key.ends_with("_threshold") || key == "release_resistance";
        return has_part && text_of(part) != nullptr && (diode || !is_none(part));
    }

    [[nodiscard]] bool is_none(std::string_view key) const {
        const NamedText* text = text_of(key);
        return text != nullptr && text->text == "none";
    }

    [[nodiscard]] std::string what_is_missing(const Parameter& parameter) const {
        std::string sentence = "is missing: " + std::string(parameter.words);
        if (parameter.key == "main_threshold") {
            sentence += "; or name a part, main_switch = \"AO3401A\"";
        } else if (parameter.key == "latch_threshold") {
            sentence += "; or name a part, latch_transistor = \"BSS138\"";
        } else if (parameter.key == "release_threshold") {
            sentence += "; or name a part, release_transistor = \"BSS138\"";
        } else if (parameter.key == "diode_leakage") {
            sentence += R"(; or name a part, diode = "BAT54", or "none")";
        } else if (parameter.absent != Absent::required) {
            sentence += "; if there is none, say \"none\"";
        }
        return sentence;
    }

    void read_lists() {
        if (const NamedText* text = text_of("diode_drop")) {
            if (const auto diode = parse_drops(text->text)) {
                circuit_.diode = *diode;
            } else {
                problem(*text, diode.error());
            }
        } else if (text_of("diode") == nullptr) {
            missing("diode", R"(is missing: name a part, "BAT54", or say "none")");
        }
        if (const NamedText* text = text_of("main_on_resistance")) {
            if (const auto on = parse_on_resistances(text->text)) {
                circuit_.main_switch.on = *on;
            } else {
                problem(*text, on.error());
            }
        }
    }

    void read_single(std::string_view key, Unit unit, Range range, double& value) {
        if (const NamedText* text = text_of(key)) {
            const auto read = parse_quantity(text->text, unit, range);
            if (read) {
                value = *read;
            } else {
                problem(*text, read.error());
            }
        }
    }

    void read_single_values() {
        MainSwitch& part = circuit_.main_switch;
        constexpr Range limit{1.0, 1000.0};
        read_single("main_gate_limit", Unit::volt, {1.0, 100.0}, part.gate_limit);
        read_single("main_drain_limit", Unit::volt, limit, part.drain_limit);
        read_single("latch_gate_limit", Unit::volt, {1.0, 100.0}, circuit_.latch.gate);
        read_single("latch_drain_limit", Unit::volt, limit, circuit_.latch.drain);
        read_single("release_gate_limit", Unit::volt, {1.0, 100.0}, circuit_.release.gate);
        read_single("release_drain_limit", Unit::volt, limit, circuit_.release.drain);
        read_single("main_current_limit", Unit::ampere, {0.01, 500.0}, part.current_limit);
        read_single("main_thermal_resistance",
                    Unit::kelvin_per_watt,
                    {0.5, 1000.0},
                    part.thermal_resistance);
        PulseTrain& pulses = circuit_.pulses;
        read_single("active_delay", Unit::second, {1e-6, 60.0}, pulses.active);
        read_single("inactive_delay", Unit::second, {1e-6, 60.0}, pulses.inactive);
        read_single("timeout", Unit::second, {1e-6, 600.0}, pulses.timeout);
        Demands& demands = circuit_.demands;
        read_single("board_minimum", Unit::volt, {1.0, 60.0}, demands.board_minimum);
        read_single("battery", Unit::ampere_hour, {0.01, 10e3}, demands.battery);
        read_single("margin", Unit::second, {1e-3, 60.0}, demands.margin);
        read_single("supply_rise", Unit::second, {1e-8, 10.0}, demands.supply_rise);
    }

    void read_wires() {
        const NamedText* gauge = text_of("wire_gauge");
        const NamedText* length = text_of("wire_length");
        if (gauge == nullptr && length == nullptr) {
            return;
        }
        if (gauge == nullptr || length == nullptr) {
            problem(gauge != nullptr ? *gauge : *length,
                    "wire_gauge and wire_length are stated together");
            return;
        }
        if (text_of("wire_resistance") != nullptr) {
            problem(*gauge, "is stated beside wire_resistance; one of the two is wanted");
        }
        double metres = 0.0;
        read_single("wire_length", Unit::metre, {0.005, 100.0}, metres);
        const auto number = parse_gauge(gauge->text);
        if (!number) {
            problem(*gauge, number.error());
            return;
        }
        const Spread& celsius = circuit_.parts.temperature;
        circuit_.parts.wire_resistance = {wire_resistance(*number, metres, celsius.least),
                                          wire_resistance(*number, metres, celsius.typical),
                                          wire_resistance(*number, metres, celsius.most)};
    }

    void check_together() {
        const Parts<Spread>& parts = circuit_.parts;
        if (const NamedText* text = text_of("cut_out");
            text != nullptr && parts.supply_voltage.least > 0.0 &&
            parts.cut_out.most >= parts.supply_voltage.least) {
            problem(*text,
                    "reaches " + to_text(parts.cut_out.most, Unit::volt) +
                        ", but the supply may be as low as " +
                        to_text(parts.supply_voltage.least, Unit::volt));
        }
        const bool voltage = parts.back_feed_voltage.most > 0.0;
        const bool current = parts.back_feed_current.most > 0.0;
        if (voltage != current) {
            const char* const key = voltage ? "back_feed_voltage" : "back_feed_current";
            if (const NamedText* text = text_of(key)) {
                problem(*text, "back_feed_voltage and back_feed_current are stated together");
            }
        }
    }

    std::span<const NamedText> texts_;
    CircuitRead read_;
    Circuit circuit_;
    const CapacitorClass* kind_ = nullptr;
};

}  // namespace

std::vector<std::string_view> circuit_keys() {
    std::vector<std::string_view> keys;
    keys.reserve(parameter_count + other_keys.size());
    for (const Parameter& parameter : parameters()) {
        keys.push_back(parameter.key);
    }
    keys.insert(keys.end(), other_keys.begin(), other_keys.end());
    return keys;
}

CircuitRead read_circuit(std::span<const NamedText> texts) {
    return Reader(texts).run();
}

}  // namespace nightlatch::circuit
