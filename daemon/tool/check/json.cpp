// SPDX-License-Identifier: MIT
#include "daemon/tool/json.hpp"

#include "config/keys.hpp"
#include "daemon/tool/check/check.hpp"

namespace nightlatch::tool {
namespace {

Json diagnostic_json(const config::Diagnostic& one) {
    Json json{{"severity", text_of(one.severity)}, {"key", one.key}, {"text", one.text}};
    if (one.place.line > 0) {
        json["line"] = one.place.line;
        json["column"] = one.place.column;
    }
    return json;
}

/// A look by stage: in an object of its own.
void add_look(Json& json, const config::ShownKey& key) {
    Json& looks = json[key.name];
    if (std::holds_alternative<std::nullptr_t>(looks.value())) {
        looks = Json::object();
    }
    looks[key.part] = config::text_of(key.value);
}

void add_key(Json& json, const config::ShownKey& key) {
    std::string name(key.name);
    name += key.part.empty() ? "" : "_" + std::string(key.part);
    if (const auto* duration = std::get_if<Duration>(&key.value)) {
        json[name + "_us"] = microseconds(*duration);
    } else if (const auto* count = std::get_if<std::size_t>(&key.value)) {
        json[name] = *count;
    } else {
        json[name] = config::text_of(key.value);
    }
}

Json section_json(const config::KnownSection& section,
                  const config::Settings& settings,
                  std::size_t at) {
    Json json = Json::object();
    for (const config::ShownKey& key : shown_keys(section, settings, at)) {
        key.by_stage ? add_look(json, key) : add_key(json, key);
    }
    return json;
}

/// The sections of one name, which may be repeated.
Json sections_json(const config::KnownSection& section, const config::Settings& settings) {
    Json all = Json::array();
    for (std::size_t i = 0; i < section.count(settings); ++i) {
        all.push_back(section_json(section, settings, i));
    }
    return all;
}

/// All that --print shows.
Json settings_json(const config::Settings& settings) {
    Json json = Json::object();
    for (const config::KnownSection& section : config::known_sections()) {
        const bool there = section.count(settings) > 0;
        if (section.repeats() && (there || !section.keys.empty())) {
            json[section.name] = sections_json(section, settings);
        } else if (there) {
            json[section.name] = section_json(section, settings, 0);
        }
    }
    return json;
}

}  // namespace

std::string check_json(const CheckReport& report) {
    Json found = Json::array();
    for (const auto* list : lists_of(report)) {
        for (const config::Diagnostic& one : *list) {
            found.push_back(diagnostic_json(one));
        }
    }
    Json json{{"file", report.file},
              {"fine", check_status(report) == 0},
              {"found", std::move(found)},
              {"install", report.install},
              {"settings", nullptr}};
    if (report.loaded.settings) {
        json["settings"] = settings_json(*report.loaded.settings);
    }
    return json_text("nightlatch-check", 1, json);
}

}  // namespace nightlatch::tool
