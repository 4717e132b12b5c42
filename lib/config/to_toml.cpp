// SPDX-License-Identifier: MIT
#include "config/to_toml.hpp"

#include "base/duration_text.hpp"
#include "config/pattern_text.hpp"
#include "config/words.hpp"

#include <string_view>
#include <variant>

namespace nightlatch::config {
namespace {

using nightlatch::to_text;

/// A basic string [https://toml.io/en/v1.0.0#string]; names hold no control characters.
std::string text_value(std::string_view text) {
    std::string result = "\"";
    for (const char c : text) {
        if (c == '"' || c == '\\') {
            result += '\\';
        }
        result += c;
    }
    return result + "\"";
}

std::string line(std::string_view key, std::string_view value) {
    return std::string(key) + " = " + text_value(value) + "\n";
}

std::string line(std::string_view key, Duration value) {
    return line(key, to_text(value));
}

std::string lines_of(const LineName& where) {
    const bool offset = where.line.find_first_not_of("0123456789") == std::string::npos;
    return line("chip", where.chip) +
           (offset ? "line = " + where.line + "\n" : line("line", where.line));
}

std::string button_text(const Settings& settings) {
    const core::Settings& core = settings.core;
    std::string text = button_block(settings.button);
    if (settings.button.bias == Bias::as_is) {
        text += line("bias", word_for(bias_words, settings.button.bias));
    }
    text += "debounce = { press = " + text_value(to_text(core.press_interval)) +
            ", release = " + text_value(to_text(core.release_interval)) + " }\n";
    text += line("stuck_after", core.stuck_after);
    return text + line("act_on", word_for(act_on_words, core.act_on));
}

std::string post_halt_text(const PostHalt& post_halt) {
    std::string text = "\n[post_halt]\n";
    if (post_halt.where) {
        text += lines_of(*post_halt.where);
    }
    if (post_halt.active_low) {
        text += line("active", word_for(level_words, *post_halt.active_low));
    }
    if (post_halt.pulse) {
        text += line("pulse", *post_halt.pulse);
    }
    return text;
}

std::string feedback_text(const Feedback& feedback) {
    std::string text = "\n[[feedback]]\n";
    if (const auto* led = std::get_if<LedName>(&feedback.output)) {
        text += line("led", led->name);
    } else if (const auto* output = std::get_if<FeedbackLine>(&feedback.output)) {
        text += lines_of(output->where);
        text += line("active", word_for(level_words, output->active_low));
    }
    for (const core::CueName cue : core::all_cues) {
        text += line(core::text_of(cue),
                     pattern_text(feedback.patterns[static_cast<std::size_t>(cue)]));
    }
    return text;
}

std::string circuit_text(const CircuitSection& section) {
    std::string text = "\n[circuit]\n";
    for (const CircuitText& one : section.texts) {
        text += line(one.key, one.text);
    }
    return text;
}

}  // namespace

std::string button_block(const Button& button) {
    std::string text = "[button]\n" + lines_of(button.where) +
                       line("pressed", word_for(level_words, button.active_low));
    if (button.bias != Bias::as_is) {
        text += line("bias", word_for(bias_words, button.bias));
    }
    return text;
}

std::string to_toml(const Settings& settings) {
    const core::Settings& core = settings.core;
    std::string text = button_text(settings);
    for (const core::Stage& stage : core.stages) {
        text += "\n[[stage]]\n" + line("name", stage.name) + line("hold", stage.hold) +
                line("action", word_for(action_words, stage.action));
    }
    text += "\n[leave]\n" + line("grace", core.grace) +
            line("inhibitors", word_for(inhibitor_words, core.inhibitors)) +
            line("without_post_halt", word_for(without_post_halt_words, core.without_post_halt));
    text += post_halt_text(settings.post_halt);
    for (const Feedback& feedback : settings.feedback) {
        text += feedback_text(feedback);
    }
    if (settings.circuit) {
        text += circuit_text(*settings.circuit);
    }
    return text;
}

}  // namespace nightlatch::config
