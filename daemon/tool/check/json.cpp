// SPDX-License-Identifier: MIT
#include "daemon/tool/json.hpp"

#include "config/pattern_text.hpp"
#include "config/words.hpp"
#include "daemon/tool/check/check.hpp"

namespace nightlatch::tool {
namespace {

Json line_json(const config::LineName& where) {
    return {{"chip", where.chip}, {"line", where.line}};
}

Json diagnostic_json(const config::Diagnostic& one) {
    Json json{{"severity", text_of(one.severity)}, {"key", one.key}, {"text", one.text}};
    if (one.place.line > 0) {
        json["line"] = one.place.line;
        json["column"] = one.place.column;
    }
    return json;
}

Json stages_json(const core::Settings& core) {
    Json stages = Json::array();
    for (const core::Stage& stage : core.stages) {
        stages.push_back({{"name", stage.name},
                          {"hold_us", microseconds(stage.hold)},
                          {"action", word_for(config::action_words, stage.action)}});
    }
    return stages;
}

Json feedback_json(const config::Feedback& feedback) {
    Json json = Json::object();
    if (const auto* led = std::get_if<config::LedName>(&feedback.output)) {
        json["led"] = led->name;
    } else if (const auto* line = std::get_if<config::FeedbackLine>(&feedback.output)) {
        json = line_json(line->where);
        json["active"] = word_for(config::level_words, line->active_low);
    }
    for (const core::CueName cue : core::all_cues) {
        json[core::text_of(cue)] =
            config::pattern_text(feedback.patterns[static_cast<std::size_t>(cue)]);
    }
    return json;
}

Json post_halt_json(const config::PostHalt& post_halt) {
    Json json = post_halt.where ? line_json(*post_halt.where) : Json::object();
    if (post_halt.active_low) {
        json["active"] = word_for(config::level_words, *post_halt.active_low);
    }
    if (post_halt.pulse) {
        json["pulse_us"] = microseconds(*post_halt.pulse);
    }
    return json;
}

Json settings_json(const config::Settings& settings) {
    const core::Settings& core = settings.core;
    Json button = line_json(settings.button.where);
    button["pressed"] = word_for(config::level_words, settings.button.active_low);
    button["bias"] = word_for(config::bias_words, settings.button.bias);
    button["debounce_press_us"] = microseconds(core.press_interval);
    button["debounce_release_us"] = microseconds(core.release_interval);
    button["stuck_after_us"] = microseconds(core.stuck_after);
    button["act_on"] = word_for(config::act_on_words, core.act_on);
    Json feedback = Json::array();
    for (const config::Feedback& one : settings.feedback) {
        feedback.push_back(feedback_json(one));
    }
    return {{"button", std::move(button)},
            {"stage", stages_json(core)},
            {"leave",
             {{"grace_us", microseconds(core.grace)},
              {"inhibitors", word_for(config::inhibitor_words, core.inhibitors)},
              {"without_post_halt",
               word_for(config::without_post_halt_words, core.without_post_halt)}}},
            {"post_halt", post_halt_json(settings.post_halt)},
            {"feedback", std::move(feedback)}};
}

}  // namespace

std::string check_json(const CheckReport& report) {
    Json found = Json::array();
    for (const auto* list : {&report.loaded.diagnostics, &report.circuit, &report.around}) {
        for (const config::Diagnostic& one : *list) {
            found.push_back(diagnostic_json(one));
        }
    }
    Json json{{"file", report.file},
              {"fine", check_status(report) == 0},
              {"found", std::move(found)},
              {"settings", nullptr}};
    if (report.loaded.settings) {
        json["settings"] = settings_json(*report.loaded.settings);
    }
    return json_text("nightlatch-check", 1, json);
}

}  // namespace nightlatch::tool
