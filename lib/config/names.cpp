// SPDX-License-Identifier: MIT
#include "config/names.hpp"

#include "base/nearest.hpp"
#include "config/keys.hpp"

#include <algorithm>
#include <string>

namespace nightlatch::config {
namespace {

using Names = std::vector<std::string_view>;

const KnownSection* known_section(std::string_view name) {
    const auto all = known_sections();
    const auto section = std::find_if(
        all.begin(), all.end(), [name](const KnownSection& one) { return one.name == name; });
    return section == all.end() ? nullptr : &*section;
}

bool has(const Names& names, std::string_view name) {
    return std::find(names.begin(), names.end(), name) != names.end();
}

/// "; it belongs in [leave]", where the key is one of another section.
std::string belongs_elsewhere(std::string_view key) {
    for (const KnownSection& section : known_sections()) {
        if (has(key_names(section), key)) {
            return "; it belongs in " + std::string(section.header);
        }
    }
    return {};
}

void say_unknown(const Section& section, const Entry& entry, const Names& keys, Reader& reader) {
    const std::string elsewhere = belongs_elsewhere(entry.key);
    const bool here = elsewhere.empty() || nearest(entry.key, keys);
    reader.error(entry.place,
                 full_key(section, entry.key),
                 "unknown key" + (here ? allowed_text(entry.key, keys) : "") +
                     (here && !elsewhere.empty() ? "; or" + elsewhere.substr(1) : elsewhere));
    reader.mistyped(section, entry.key, keys);
}

Names parts_of(const KnownSection& section, std::string_view key) {
    Names parts;
    for (const Key& one : section.keys) {
        if (one.name == key && !one.part.empty()) {
            parts.push_back(one.part);
        }
    }
    return parts;
}

void check_keys(const Section& section, const KnownSection& known, Reader& reader) {
    const Names keys = key_names(known);
    for (const Entry& entry : *section.table) {
        if (!has(keys, entry.key)) {
            say_unknown(section, entry, keys, reader);
            continue;
        }
        const auto* inner = std::get_if<Table>(&entry.value.data);
        const Names parts = parts_of(known, entry.key);
        if (inner != nullptr && !parts.empty()) {
            reader.only({full_key(section, entry.key), inner, entry.value.place}, parts);
        }
    }
}

void check_section(const Entry& entry, const KnownSection& known, Reader& reader) {
    const auto check = [&](const Value& value) {
        if (const auto* table = std::get_if<Table>(&value.data)) {
            check_keys({entry.key, table, value.place}, known, reader);
        }
    };
    check(entry.value);
    if (const auto* array = std::get_if<Array>(&entry.value.data)) {
        std::for_each(array->begin(), array->end(), check);
    }
}

void say_unknown_section(const Entry& entry, Reader& reader) {
    const std::string elsewhere = belongs_elsewhere(entry.key);
    Names names;
    for (const KnownSection& section : known_sections()) {
        names.push_back(section.name);
    }
    reader.error(entry.place,
                 full_key({}, entry.key),
                 elsewhere.empty() ? "unknown section" + allowed_text(entry.key, names)
                                   : "stands outside any section" + elsewhere);
}

const Table no_table{};

}  // namespace

void check_names(const Table& root, Reader& reader) {
    for (const Entry& entry : root) {
        const KnownSection* known = known_section(entry.key);
        if (known == nullptr) {
            say_unknown_section(entry, reader);
        } else if (!known->keys.empty()) {
            check_section(entry, *known, reader);
        }
    }
}

std::optional<Section> one_section(const Table& root, std::string_view name, Reader& reader) {
    const Entry* entry = find(root, name);
    if (entry == nullptr) {
        return Section{std::string(name), &no_table, Place{}};
    }
    const auto* table = std::get_if<Table>(&entry->value.data);
    if (table == nullptr) {
        reader.error(entry->place,
                     std::string(name),
                     "is " + std::string(kind_of(entry->value)) +
                         "; expected one section, written [" + std::string(name) + "]");
        return std::nullopt;
    }
    return Section{std::string(name), table, entry->value.place};
}

std::optional<std::vector<Section>> all_sections(const Table& root,
                                                 std::string_view name,
                                                 Reader& reader) {
    const Entry* entry = find(root, name);
    std::vector<Section> sections;
    if (entry == nullptr) {
        return sections;
    }
    const std::string want = "expected sections, each written [[" + std::string(name) + "]]";
    const auto* array = std::get_if<Array>(&entry->value.data);
    if (array == nullptr) {
        reader.error(entry->place,
                     std::string(name),
                     "is " + std::string(kind_of(entry->value)) + "; " + want);
        return std::nullopt;
    }
    for (const Value& value : *array) {
        const auto* table = std::get_if<Table>(&value.data);
        if (table == nullptr) {
            reader.error(value.place,
                         std::string(name),
                         "has " + std::string(kind_of(value)) + " in it; " + want);
            return std::nullopt;
        }
        sections.push_back({std::string(name), table, value.place});
    }
    return sections;
}

}  // namespace nightlatch::config
