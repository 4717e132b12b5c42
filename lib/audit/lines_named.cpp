// SPDX-License-Identifier: MIT
#include "audit/lines_named.hpp"

#include "base/text.hpp"

namespace nightlatch::audit {

std::vector<NamedLine> lines_of(const config::Settings& settings) {
    std::vector<NamedLine> lines{{"button", settings.button.where}};
    if (settings.post_halt.where) {
        lines.push_back({"post_halt", *settings.post_halt.where});
    }
    for (const config::AlarmLine& line : settings.alarm_lines) {
        lines.push_back({"alarm", line.where});
    }
    for (const config::Feedback& feedback : settings.feedback) {
        if (const auto* line = std::get_if<config::FeedbackLine>(&feedback.output)) {
            lines.push_back({"feedback", line->where});
        }
    }
    return lines;
}

std::vector<OpenedLine> opened_lines(const Scene& scene) {
    std::vector<OpenedLine> lines{{"the button's line", "the button is dead", true, scene.button}};
    for (std::size_t i = 1; i < scene.inputs.size(); ++i) {
        const std::string alarm = in_quotes(scene.settings->core.alarms[i - 1].name);
        lines.push_back({scene.inputs[i].what,
                         "the alarm " + alarm + " never comes",
                         true,
                         scene.inputs[i].placed});
    }
    if (scene.settings == nullptr) {
        return lines;
    }
    for (const config::Feedback& feedback : scene.settings->feedback) {
        if (const auto* line = std::get_if<config::FeedbackLine>(&feedback.output)) {
            lines.push_back({"the feedback line " + in_quotes(line->where.line),
                             "that line shows no cue",
                             false,
                             place_line(scene, line->where)});
        }
    }
    return lines;
}

std::set<std::string> chips_of(const std::vector<OpenedLine>& lines) {
    std::set<std::string> chips;
    for (const OpenedLine& line : lines) {
        if (line.placed) {
            chips.insert(line.placed->chip_name);
        }
    }
    return chips;
}

}  // namespace nightlatch::audit
