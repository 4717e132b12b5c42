// SPDX-License-Identifier: MIT
#include "config/circuit_section.hpp"

#include "config/load.hpp"
#include "config/names.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::config {
namespace {

/// "85 mohm at 2.5 V, 60 mohm at 4.5 V" and the like: six pairs of values fit.
constexpr std::size_t longest_value = 200;
constexpr std::size_t longest_key = 40;

/// What any of the circuit's keys could be, and what printing needs not put in quotes.
bool is_plain(std::string_view key) {
    return !key.empty() && key.size() <= longest_key &&
           std::all_of(key.begin(), key.end(), [](char c) {
               return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                      c == '_' || c == '-';
           });
}

/// One that is wrong is there all the same: nobody should be told that it is missing. `key` is what
/// it is called in `CircuitText`.
CircuitText read_value(const Section& section, const Entry& entry, Reader& reader) {
    const bool is_nested = section.name != "circuit";
    CircuitText value{(is_nested ? std::string(hold_up_prefix) : std::string{}) + entry.key,
                      {},
                      entry.value.place};
    const std::string key = full_key(section, entry.key);
    if (!is_plain(entry.key)) {
        reader.error(entry.place, key, "unknown key");
        return value;
    }
    const std::string* text = reader.text_in(
        entry.value, key, R"(a value with its unit, in double quotes: "22 uF", "4.7 kohm")");
    if (text == nullptr) {
        return value;
    }
    if (const auto why = why_no_name(*text, longest_value)) {
        reader.error(entry.value.place, key, *why);
        return value;
    }
    value.text = *text;
    return value;
}

/// [circuit.hold_up], the one table within [circuit]; false for what is not a table.
bool read_table(const Entry& entry, CircuitSection& circuit, Reader& reader) {
    const auto* table = std::get_if<Table>(&entry.value.data);
    if (table == nullptr && entry.key != "hold_up") {
        return false;
    }
    const std::string key = full_key({"circuit", nullptr, {}}, entry.key);
    if (table == nullptr) {
        reader.error(entry.value.place,
                     key,
                     "is " + std::string(kind_of(entry.value)) +
                         "; expected one section, written [circuit.hold_up]");
    } else if (entry.key != "hold_up") {
        reader.error(entry.place, key, "unknown section; [circuit.hold_up] is the only one here");
    } else {
        circuit.hold_up = entry.value.place;
        const Section section{key, table, entry.value.place};
        circuit.texts.reserve(circuit.texts.size() + table->size());
        for (const Entry& one : *table) {
            circuit.texts.push_back(read_value(section, one, reader));
        }
    }
    return true;
}

}  // namespace

std::optional<CircuitSection> read_circuit_section(const Table& root, Reader& reader) {
    if (find(root, "circuit") == nullptr) {
        return std::nullopt;
    }
    const auto section = one_section(root, "circuit", reader);
    if (!section) {
        return std::nullopt;
    }
    CircuitSection circuit{section->place, {}, {}};
    circuit.texts.reserve(section->table->size());
    for (const Entry& entry : *section->table) {
        if (!read_table(entry, circuit, reader)) {
            circuit.texts.push_back(read_value(*section, entry, reader));
        }
    }
    return circuit;
}

LoadedCircuit load_circuit(std::string_view text) {
    const auto document = parse_document(text);
    if (!document) {
        return {std::nullopt, {document.error()}};
    }
    Reader reader;
    auto section = read_circuit_section(document->root, reader);
    return {std::move(section), reader.take()};
}

}  // namespace nightlatch::config
