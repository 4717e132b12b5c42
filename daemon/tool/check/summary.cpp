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

/// `name` is the stage's or the alarm's.
std::string action_text(core::Action action, const std::string& name) {
    switch (action) {
    case core::Action::power_off:
        return "power off";
    case core::Action::reboot:
        return "reboot";
    case core::Action::announce:
        return "announce " + in_quotes(name, uncut) + " to the programs that follow";
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
                        action_text(stage.action, stage.name)});
    }
    return table("stages", rows);
}

std::string without_post_halt_text(core::WithoutPostHalt what) {
    switch (what) {
    case core::WithoutPostHalt::allow:
        return "a post-halt line that is wrong or absent changes nothing";
    case core::WithoutPostHalt::warn:
        return "a post-halt line that is wrong or absent is warned of";
    case core::WithoutPostHalt::refuse:
        return "a post-halt line that is wrong or absent refuses power-off";
    }
    return {};
}

std::string inhibitors_text(core::Inhibitors inhibitors) {
    return inhibitors == core::Inhibitors::respect ? "another program's inhibitor lock refuses it"
                                                   : "goes past other programs' inhibitor locks";
}

std::string leave_text(const core::Settings& core) {
    const std::string when =
        core.grace > Duration::zero()
            ? "after a countdown of " + to_text(core.grace) + ", called off by another press"
            : "at once";
    return labelled("leaving", when) + labelled("", inhibitors_text(core.inhibitors)) +
           labelled("", without_post_halt_text(core.without_post_halt));
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

/// One look, or one for each stage.
void add_looks(core::CueName name,
               const core::Looks& looks,
               const std::vector<core::Stage>& stages,
               std::vector<Row>& rows) {
    const bool by_stage = name == core::CueName::ready && !looks.ready_by_stage.empty();
    core::Cue cue{.name = name};
    for (std::size_t i = 0; i < (by_stage ? stages.size() : 1); ++i) {
        cue.stage = static_cast<std::uint32_t>(i);
        const core::Pattern& look = core::look_of(looks, cue);
        if (look.kind != core::PatternKind::off) {
            rows.push_back(
                {std::string(core::text_of(name)) + (by_stage ? " for " + stages[i].name : ""),
                 config::pattern_text(look)});
        }
    }
}

std::string feedback_text(const config::Feedback& feedback,
                          const std::vector<core::Stage>& stages) {
    std::vector<Row> rows;
    for (const core::CueName cue : core::all_cues) {
        add_looks(cue, feedback.looks, stages, rows);
    }
    return labelled("feedback", output_text(feedback) + (rows.empty() ? ": always off" : "")) +
           table("", rows);
}

std::string alarm_text(const core::Alarm& alarm, const config::AlarmLine& line) {
    const std::string level(word_for(config::level_words, line.active_low));
    std::string text =
        labelled("alarm",
                 in_quotes(alarm.name, uncut) + ": " + line_text(line.where) + ", " +
                     bias_text(line.bias)) +
        labelled("",
                 level + " for " + to_text(alarm.lasting) + ": " +
                     action_text(alarm.action, alarm.name) +
                     (alarm.action == core::Action::announce ? "" : ", without a countdown"));
    if (alarm.action != core::Action::announce) {
        text += labelled(
            "",
            inhibitors_text(alarm.inhibitors) + "; after a refusal " +
                (alarm.repeat ? "again every " + to_text(*alarm.repeat) : "not asked again"));
    }
    return text +
           labelled("",
                    level + " already when the board starts: " +
                        (alarm.at_start == core::AtStart::ignore ? "ignored until it has been over"
                                                                 : "counts, too"));
}

std::string logbook_text(const config::LogbookSettings& logbook) {
    return labelled("logbook",
                    logbook.path + ", the last " + counted(logbook.keep, "run") + " or more");
}

}  // namespace

std::string summary(const Settings& settings) {
    std::string text = button_text(settings) + stages_text(settings.core) +
                       leave_text(settings.core) + post_halt_text(settings.post_halt);
    for (const config::Feedback& feedback : settings.feedback) {
        text += feedback_text(feedback, settings.core.stages);
    }
    for (std::size_t i = 0; i < settings.alarm_lines.size(); ++i) {
        text += alarm_text(settings.core.alarms[i], settings.alarm_lines[i]);
    }
    return text + logbook_text(settings.logbook);
}

}  // namespace nightlatch::tool
