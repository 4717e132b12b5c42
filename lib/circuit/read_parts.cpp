// SPDX-License-Identifier: MIT
#include "base/nearest.hpp"
#include "circuit/library.hpp"
#include "circuit/read_texts.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::circuit {
namespace {

using Kind = LibraryTransistor::Kind;

/// The part that the key names; a problem when the library has none of the name.
template <class Part>
const Part* part_named(Texts& texts, std::string_view key, std::span<const Part> parts) {
    const NamedText* text = texts.find(key);
    if (text == nullptr || text->text == "none") {
        return nullptr;
    }
    if (const Part* part = find_part(parts, text->text)) {
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
    texts.problem(*text,
                  "is not in the library" +
                      (near ? "; did you mean " + std::string(*near) + "?" : ".") + " It has " +
                      list + "; give the values of another part as keys of their own.");
    return nullptr;
}

std::string_view text_of(Kind kind) {
    return kind == Kind::p_channel ? "a P-channel MOSFET"
           : kind == Kind::npn     ? "an NPN transistor"
                                   : "an N-channel MOSFET";
}

/// Nothing when it is of another kind than the place takes, which is a problem.
const LibraryTransistor* transistor(Texts& texts, std::string_view key, bool high_side) {
    const auto* part = part_named(texts, key, library_transistors());
    if (part != nullptr && (part->kind == Kind::p_channel) != high_side) {
        texts.problem(*texts.find(key),
                      std::string(part->name) + " is " + std::string(text_of(part->kind)) +
                          (high_side ? "; wanted is a P-channel MOSFET"
                                     : "; wanted is an N-channel MOSFET or an NPN transistor"));
    }
    return part;
}

/// One of the two that switch to ground: threshold, gain, what it conducts, what it takes.
void take_low_side(const LibraryTransistor& part,
                   Spread& threshold,
                   Spread& gain,
                   std::pair<Conduction&, TransistorLimits&> into) {
    threshold = part.threshold.value;
    gain = part.gain.value;
    into.first.test_current = part.test_current.value;
    if (!part.on.empty()) {
        into.first.on = part.on.front();
    }
    into.second = {part.gate_limit.value, part.drain_limit.value, part.current_limit.value};
}

}  // namespace

const CapacitorClass* read_parts(Texts& texts, Circuit& circuit) {
    if (const auto* part = transistor(texts, "main_switch", true)) {
        circuit.parts.main_threshold = part->threshold.value;
        circuit.main_test_current = part->test_current.value;
        circuit.main_switch = {{part->on.begin(), part->on.end()},
                               part->gate_limit.value,
                               part->drain_limit.value,
                               part->current_limit.value,
                               part->thermal_resistance.value};
    }
    if (const auto* part = transistor(texts, "latch_transistor", false)) {
        take_low_side(*part,
                      circuit.parts.latch_threshold,
                      circuit.parts.latch_gain,
                      {circuit.latch_conduction, circuit.latch});
    }
    if (const auto* part = transistor(texts, "release_transistor", false)) {
        take_low_side(*part,
                      circuit.parts.release_threshold,
                      circuit.parts.release_gain,
                      {circuit.release_conduction, circuit.release});
        circuit.parts.release_resistance = Spread::exactly(part->on.front().ohms);
    }
    if (const auto* part = transistor(texts, "inverter_transistor", true)) {
        circuit.parts.inverter_threshold = part->threshold.value;
        circuit.parts.inverter_resistance = Spread::exactly(part->on.front().ohms);
    }
    if (const auto* part = transistor(texts, "button_transistor", false)) {
        circuit.parts.button_gain = part->gain.value;
    }
    if (const auto* part = part_named(texts, "diode", library_diodes())) {
        circuit.diode.count = part->drops.size();
        std::copy(part->drops.begin(), part->drops.end(), circuit.diode.points.begin());
        circuit.parts.diode_leakage = part->leakage.value;
    }
    return part_named(texts, "hold_capacitor_class", capacitor_classes());
}

StatedStages::StatedStages(Texts& texts, const Circuit& circuit) {
    static constexpr std::array<std::string_view, 2> levels{"high", "low"};
    static constexpr std::array<std::string_view, 2> drives{"push-pull", "open-drain"};
    const bool low = texts.word("line_active", levels) == 1;
    open_drain_ = texts.word("line_drive", drives) == 1;
    const auto set = [this](Of of, bool there) { has_[static_cast<std::size_t>(of)] = there; };
    const bool enable = texts.has("enable_threshold");
    set(Of::every, true);
    set(Of::driven_line, !low && !open_drain_);
    set(Of::pulled_line, low || open_drain_);
    set(Of::inverter, low);
    set(Of::bipolar_release, texts.has("release_gain") || circuit.parts.release_gain.most > 0.0);
    set(Of::bipolar_latch,
        !enable && (texts.has("latch_gain") || circuit.parts.latch_gain.most > 0.0));
    set(Of::bipolar_button, texts.has("button_gain") || circuit.parts.button_gain.most > 0.0);
    set(Of::gate, !enable);
    set(Of::enable_pin, enable);
}

std::string_view StatedStages::wanted_for(Of of) noexcept {
    static constexpr std::array<std::string_view, stage_count> texts{
        "",
        "has its place only where a push-pull line is active high",
        R"(has its place only with line_drive = "open-drain" or line_active = "low")",
        R"(has its place only with line_active = "low")",
        "has its place only beside release_gain or a bipolar release transistor",
        "has its place only beside latch_gain or a bipolar latch transistor",
        "has its place only beside button_gain or a bipolar button transistor",
        "has no place beside enable_threshold",
        "has its place only beside enable_threshold"};
    return texts[static_cast<std::size_t>(of)];
}

}  // namespace nightlatch::circuit
