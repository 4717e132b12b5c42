// SPDX-License-Identifier: MIT
#include "daemon/tool/check/summary.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "config/pattern_text.hpp"
#include "config/words.hpp"
#include "page/page.hpp"
#include "page/wrap.hpp"

#include <algorithm>
#include <string_view>
#include <vector>

namespace nightlatch::tool {
namespace {

using config::Settings;
using lines::LineName;

constexpr unsigned label_width = 12;

using page::Row;

std::string labelled(const std::string& label, const std::string& text) {
    return page::left(label, label_width) + safe(text) + "\n";
}

/// Behind the column of labels.
std::string table(std::string_view label, const std::vector<Row>& rows) {
    std::string text = page::table(rows, {.indent = label_width});
    return text.replace(0, label.size(), label);
}

std::string line_text(const LineName& where) {
    const bool offset = all_digits(where.line);
    return (offset ? "line number " : "line ") + where.line + " of chip " + where.chip;
}

std::string bias_text(lines::Bias bias) {
    switch (bias) {
    case lines::Bias::as_is:
        return "bias left as it is";
    case lines::Bias::none:
        return "bias switched off";
    case lines::Bias::pull_up:
        return "pulled up";
    case lines::Bias::pull_down:
        return "pulled down";
    }
    return {};
}

std::string button_text(const Settings& settings) {
    const core::Settings& core = settings.core;
    std::string debounce = "debounce " + to_text(core.press_interval);
    if (core.release_interval != core.press_interval) {
        debounce += " pressing, " + to_text(core.release_interval) + " letting go";
    }
    return labelled("button",
                    line_text(settings.button.where) + ", pressed is " +
                        std::string(word_for(config::level_words, settings.button.active_low)) +
                        ", " + bias_text(settings.button.bias)) +
           labelled("", debounce + "; stuck after " + to_text(core.stuck_after));
}

std::string action_text(const core::Stage& stage) {
    switch (stage.action) {
    case core::Action::power_off:
        return "power off";
    case core::Action::reboot:
        return "reboot";
    case core::Action::announce:
        return "announce " + in_quotes(stage.name, uncut) + " to the programs that follow";
    }
    return {};
}

std::string stages_text(const core::Settings& core) {
    const bool threshold = core.act_on == core::ActOn::threshold;
    std::vector<Row> rows;
    for (std::size_t i = 0; i < core.stages.size(); ++i) {
        const core::Stage& stage = core.stages[i];
        const bool last = i + 1 == core.stages.size();
        const Duration until = last ? core.stuck_after : core.stages[i + 1].hold;
        rows.push_back({threshold ? "held for " + to_text(stage.hold)
                                  : "let go after " + to_text(stage.hold) + " to " + to_text(until),
                        stage.name,
                        action_text(stage)});
    }
    return table("stages", rows);
}

std::string leave_text(const core::Settings& core) {
    const std::string when =
        core.grace > Duration::zero()
            ? "after a countdown of " + to_text(core.grace) + ", called off by another press"
            : "at once";
    return labelled("leaving", when) + labelled("",
                                                core.inhibitors == core::Inhibitors::respect
                                                    ? "another program's inhibitor lock refuses it"
                                                    : "goes past other programs' inhibitor locks");
}

std::string post_halt_text(const config::PostHalt& post_halt) {
    std::string text = post_halt.where ? line_text(*post_halt.where) : "line not stated";
    text += post_halt.active_low
                ? ", active " + std::string(word_for(config::level_words, *post_halt.active_low))
                : ", active level not stated";
    text += post_halt.pulse ? ", for at least " + to_text(*post_halt.pulse)
                            : ", pulse length not stated";
    return labelled("post-halt", text);
}

std::string output_text(const config::Feedback& feedback) {
    if (const auto* led = std::get_if<config::LedName>(&feedback.output)) {
        return "LED " + led->name;
    }
    const auto* line = std::get_if<config::FeedbackLine>(&feedback.output);
    return line == nullptr ? ""
                           : line_text(line->where) + ", active " +
                                 std::string(word_for(config::level_words, line->active_low));
}

std::string feedback_text(const config::Feedback& feedback) {
    std::vector<Row> rows;
    for (const core::CueName cue : core::all_cues) {
        const core::Pattern& pattern = feedback.patterns[static_cast<std::size_t>(cue)];
        if (pattern.kind != core::PatternKind::off) {
            rows.push_back({std::string(core::text_of(cue)), config::pattern_text(pattern)});
        }
    }
    return labelled("feedback", output_text(feedback) + (rows.empty() ? ": always off" : "")) +
           table("", rows);
}

}  // namespace

std::string summary(const Settings& settings) {
    std::string text = button_text(settings) + stages_text(settings.core) +
                       leave_text(settings.core) + post_halt_text(settings.post_halt);
    for (const config::Feedback& feedback : settings.feedback) {
        text += feedback_text(feedback);
    }
    return text;
}

}  // namespace nightlatch::tool
