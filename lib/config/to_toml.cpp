// SPDX-License-Identifier: MIT
#include "config/to_toml.hpp"

#include "base/text.hpp"
#include "config/keys.hpp"
#include "config/reader.hpp"

#include <string_view>
#include <vector>

namespace nightlatch::config {
namespace {

std::string toml_value(const ShownKey& key) {
    const std::string text = text_of(key.value);
    const bool number = key.kind == Kind::count || (key.kind == Kind::line && all_digits(text));
    return number ? text : toml_string(text);
}

/// A stage's name may be any text, and is then quoted.
std::string toml_part(const ShownKey& key) {
    return key.by_stage && !is_bare_key(key.part) ? toml_string(key.part) : std::string(key.part);
}

/// The header, then a line a key; a key that takes a table has its parts in one line.
std::string section_text(std::string_view header, const std::vector<ShownKey>& keys) {
    std::string text = std::string(header) + "\n";
    for (std::size_t i = 0; i < keys.size(); ++i) {
        const ShownKey& key = keys[i];
        const std::string name(key.name);
        if (key.part.empty()) {
            text += name + " = " + toml_value(key) + "\n";
            continue;
        }
        const bool first = i == 0 || keys[i - 1].name != key.name;
        const bool last = i + 1 == keys.size() || keys[i + 1].name != key.name;
        text += (first ? name + " = { " : ", ") + toml_part(key) + " = " + toml_value(key) +
                (last ? " }\n" : "");
    }
    return text;
}

}  // namespace

std::string toml_string(std::string_view text) {
    std::string result = "\"";
    for (const char c : text) {
        if (c == '"' || c == '\\') {
            result += '\\';
        }
        result += c;
    }
    return safe(result) + "\"";
}

std::string button_block(const Button& button) {
    Settings settings;
    settings.button = button;
    const KnownSection& section = known_sections().front();
    std::vector<ShownKey> said;
    for (const Key& key : section.keys) {
        const auto value = key.member.get(settings, 0);
        if (key.absent == Absent::wrong || value != key.member.get(Settings{}, 0)) {
            said.push_back({key.name, key.part, key.kind, *value});
        }
    }
    return section_text(section.header, said);
}

std::string to_toml(const Settings& settings) {
    std::string text;
    for (const KnownSection& section : known_sections()) {
        for (std::size_t i = 0; i < section.count(settings); ++i) {
            text += (text.empty() ? "" : "\n") +
                    section_text(section.header, shown_keys(section, settings, i));
        }
    }
    return text;
}

}  // namespace nightlatch::config
