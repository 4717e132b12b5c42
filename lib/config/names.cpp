// SPDX-License-Identifier: MIT
#include "config/names.hpp"

#include "base/nearest.hpp"

#include <algorithm>
#include <array>
#include <span>
#include <string>

namespace nightlatch::config {
namespace {

using Names = std::span<const std::string_view>;

constexpr std::array<std::string_view, 7> button_keys{
    "chip", "line", "pressed", "bias", "debounce", "stuck_after", "act_on"};
constexpr std::array<std::string_view, 2> debounce_keys{"press", "release"};
constexpr std::array<std::string_view, 3> stage_keys{"name", "hold", "action"};
constexpr std::array<std::string_view, 3> leave_keys{"grace", "inhibitors", "without_post_halt"};
constexpr std::array<std::string_view, 4> post_halt_keys{"chip", "line", "active", "pulse"};
constexpr std::array<std::string_view, 13> feedback_keys{"led",
                                                         "chip",
                                                         "line",
                                                         "active",
                                                         "rest",
                                                         "waiting",
                                                         "holding",
                                                         "ready",
                                                         "countdown",
                                                         "leaving",
                                                         "refused",
                                                         "stuck",
                                                         "fault"};

struct KnownSection {
    std::string_view name;
    std::string_view header;  ///< as it is written
    Names keys;
};

constexpr std::array known_sections{KnownSection{"button", "[button]", button_keys},
                                    KnownSection{"stage", "[[stage]]", stage_keys},
                                    KnownSection{"leave", "[leave]", leave_keys},
                                    KnownSection{"post_halt", "[post_halt]", post_halt_keys},
                                    KnownSection{"feedback", "[[feedback]]", feedback_keys}};

constexpr std::array<std::string_view, 8> section_names{
    "button", "stage", "leave", "post_halt", "feedback", "alarm", "logbook", "circuit"};

const KnownSection* known_section(std::string_view name) {
    const auto* const section =
        std::find_if(known_sections.begin(), known_sections.end(), [name](const KnownSection& one) {
            return one.name == name;
        });
    return section == known_sections.end() ? nullptr : &*section;
}

bool has(Names names, std::string_view name) {
    return std::find(names.begin(), names.end(), name) != names.end();
}

/// "; it belongs in [leave]", where the key is one of another section.
std::string belongs_elsewhere(std::string_view key) {
    for (const KnownSection& section : known_sections) {
        if (has(section.keys, key)) {
            return "; it belongs in " + std::string(section.header);
        }
    }
    return {};
}

void say_unknown(const Section& section, const Entry& entry, Names keys, Reader& reader) {
    const std::string elsewhere = belongs_elsewhere(entry.key);
    const bool here = elsewhere.empty() || nearest(entry.key, keys);
    reader.error(entry.place,
                 full_key(section, entry.key),
                 "unknown key" + (here ? allowed_text(entry.key, keys) : "") +
                     (here && !elsewhere.empty() ? "; or" + elsewhere.substr(1) : elsewhere));
}

void check_keys(const Section& section, Names keys, Reader& reader) {
    for (const Entry& entry : *section.table) {
        if (!has(keys, entry.key)) {
            say_unknown(section, entry, keys, reader);
            continue;
        }
        const auto* inner = std::get_if<Table>(&entry.value.data);
        if (inner != nullptr && entry.key == "debounce") {
            reader.only({full_key(section, entry.key), inner, entry.value.place}, debounce_keys);
        }
    }
}

/// Sections of the format that this version does not act on. An alarm that is silently not watched
/// may cost the storage it was to save: an error. The others do not change when the board goes
/// down.
bool check_later_section(const Entry& entry, Reader& reader) {
    if (entry.key == "alarm") {
        reader.error(entry.place,
                     "alarm",
                     "this version does not watch alarm lines, so the alarm would never come; "
                     "remove the [[alarm]] sections and guard against it in another way");
    } else if (entry.key == "logbook") {
        reader.warning(
            entry.place, "logbook", "this version keeps no logbook; nothing is recorded");
    } else {
        // The circuit's keys are lib/circuit's to know.
        return entry.key == "circuit";
    }
    return true;
}

void check_section(const Entry& entry, const KnownSection& known, Reader& reader) {
    const auto check = [&](const Value& value) {
        if (const auto* table = std::get_if<Table>(&value.data)) {
            check_keys({entry.key, table, value.place}, known.keys, reader);
        }
    };
    check(entry.value);
    if (const auto* array = std::get_if<Array>(&entry.value.data)) {
        std::for_each(array->begin(), array->end(), check);
    }
}

const Table no_table{};

}  // namespace

void check_names(const Table& root, Reader& reader) {
    for (const Entry& entry : root) {
        if (const KnownSection* known = known_section(entry.key)) {
            check_section(entry, *known, reader);
        } else if (!check_later_section(entry, reader)) {
            const std::string elsewhere = belongs_elsewhere(entry.key);
            reader.error(entry.place,
                         full_key({}, entry.key),
                         elsewhere.empty()
                             ? "unknown section" + allowed_text(entry.key, section_names)
                             : "stands outside any section" + elsewhere);
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
