// SPDX-License-Identifier: MIT
#include "config/load.hpp"

#include "base/duration_text.hpp"
#include "config/circuit_section.hpp"
#include "config/document.hpp"
#include "config/draft.hpp"
#include "config/names.hpp"
#include "config/pattern_text.hpp"

#include <algorithm>
#include <charconv>
#include <utility>

namespace nightlatch::config {
namespace {

using namespace std::chrono_literals;

/// A chip's name, its label and a line's name are 32 bytes with the ending NUL
/// [include/uapi/linux/gpio.h, GPIO_MAX_NAME_SIZE].
constexpr std::size_t longest_gpio_name = 31;
/// A chip has as many lines as 16 bits can count [include/linux/gpio/driver.h, gpio_chip.ngpio].
constexpr std::int64_t highest_offset = 65'534;
constexpr std::size_t longest_path = 255;
/// [include/uapi/linux/uleds.h, LED_MAX_NAME_SIZE: 64 with the ending NUL]
constexpr std::size_t longest_led_name = 63;
constexpr std::size_t longest_stage_name = 63;
/// Nobody counts further with a thumb; it also bounds the rules that look at pairs.
constexpr std::size_t most_sections = 16;

const core::Settings defaults{};

constexpr DurationRange debounce_range{0s, 1s, "0 s to 1 s"};
constexpr DurationRange stuck_range{1s, 24h, "1 s to 24 h"};
constexpr DurationRange hold_range{1ms, 24h, "1 ms to 24 h"};
constexpr DurationRange grace_range{0s, 10min, "0 s to 10 min"};
constexpr DurationRange pulse_range{1ms, 1min, "1 ms to 1 min"};

std::optional<std::string> read_chip(const Section& section, Reader& reader) {
    const Entry* entry = find(*section.table, "chip");
    const auto* text = entry == nullptr ? nullptr : std::get_if<std::string>(&entry->value.data);
    const bool path = text != nullptr && text->starts_with('/');
    const auto chip = reader.text(section, "chip", path ? longest_path : longest_gpio_name);
    return chip ? std::optional(chip->value) : std::nullopt;
}

/// An offset, as a number or in digits, comes back in plain digits; a name as it is.
std::optional<std::string> read_line_name(const Section& section, Reader& reader) {
    const Entry* entry = find(*section.table, "line");
    if (entry == nullptr) {
        reader.missing(section, "line", "; its name, or its offset as a number, must be given");
        return std::nullopt;
    }
    std::int64_t offset = 0;
    if (const auto* number = std::get_if<std::int64_t>(&entry->value.data)) {
        offset = *number;
    } else if (!std::holds_alternative<std::string>(entry->value.data)) {
        reader.error(entry->value.place,
                     full_key(section, "line"),
                     "is " + std::string(kind_of(entry->value)) +
                         "; expected the line's name in double quotes, or its offset as a number");
        return std::nullopt;
    } else {
        const auto name = reader.text(section, "line", longest_gpio_name);
        if (!name || name->value.find_first_not_of("0123456789") != std::string::npos) {
            return name ? std::optional(name->value) : std::nullopt;
        }
        const char* end = name->value.data() + name->value.size();
        if (std::from_chars(name->value.data(), end, offset).ec != std::errc{}) {
            offset = highest_offset + 1;
        }
    }
    if (offset < 0 || offset > highest_offset) {
        reader.error(entry->value.place,
                     full_key(section, "line"),
                     "an offset is 0 to 65534; chips have no more lines");
        return std::nullopt;
    }
    return std::to_string(offset);
}

std::optional<LineName> read_line(const Section& section,
                                  const std::string& owner,
                                  Draft& draft,
                                  Reader& reader) {
    const auto chip = read_chip(section, reader);
    const auto line = read_line_name(section, reader);
    if (!chip || !line) {
        return std::nullopt;
    }
    const Entry* entry = find(*section.table, "line");
    draft.uses.push_back({{*chip, *line}, owner, entry->value.place, full_key(section, "line")});
    return LineName{*chip, *line};
}

void read_debounce(const Section& button, Draft& draft, Reader& reader) {
    const Entry* entry = find(*button.table, "debounce");
    const std::string key = full_key(button, "debounce");
    if (entry == nullptr) {
        draft.press = {defaults.press_interval, button.place};
        draft.release = {defaults.release_interval, button.place};
    } else if (const auto* table = std::get_if<Table>(&entry->value.data)) {
        const Section both{key, table, entry->value.place};
        draft.press = reader.duration(both, "press", debounce_range, defaults.press_interval);
        draft.release = reader.duration(both, "release", debounce_range, defaults.release_interval);
    } else if (std::holds_alternative<std::string>(entry->value.data)) {
        draft.press = reader.duration_in(entry->value, key, debounce_range);
        draft.release = draft.press;
    } else {
        reader.error(entry->value.place,
                     key,
                     "is " + std::string(kind_of(entry->value)) +
                         R"(; expected "30 ms", or { press = "30 ms", release = "160 ms" })");
    }
}

void read_button(const Table& root, Draft& draft, Reader& reader) {
    const auto section = one_section(root, "button", reader);
    if (!section) {
        return;
    }
    if (const auto where = read_line(*section, "the button", draft, reader)) {
        draft.button_line = *where;
    }
    draft.pressed_low = reader.word(*section, "pressed", level_words, std::optional<bool>());
    draft.bias = reader.word(*section, "bias", bias_words, std::optional(Bias::as_is));
    read_debounce(*section, draft, reader);
    draft.stuck_after = reader.duration(*section, "stuck_after", stuck_range, defaults.stuck_after);
    draft.act_on = reader.word(*section, "act_on", act_on_words, std::optional(defaults.act_on));
}

void read_stages(const Table& root, Draft& draft, Reader& reader) {
    const auto sections = all_sections(root, "stage", reader);
    if (!sections) {
        return;
    }
    if (sections->size() > most_sections) {
        reader.error((*sections)[most_sections].place, "stage", "more than 16 stages");
        return;
    }
    draft.stages.emplace();
    for (const Section& section : *sections) {
        StageDraft stage{section.place, {}, {}, {}};
        stage.name = reader.text(section, "name", longest_stage_name);
        stage.hold = reader.duration(section, "hold", hold_range, std::nullopt);
        stage.action = reader.word(section, "action", action_words, std::optional<core::Action>());
        draft.stages->push_back(std::move(stage));
    }
}

void read_leave(const Table& root, Draft& draft, Reader& reader) {
    const auto section = one_section(root, "leave", reader);
    if (!section) {
        return;
    }
    draft.grace = reader.duration(*section, "grace", grace_range, defaults.grace);
    draft.inhibitors =
        reader.word(*section, "inhibitors", inhibitor_words, std::optional(defaults.inhibitors));
    draft.without_post_halt = reader.word(*section,
                                          "without_post_halt",
                                          without_post_halt_words,
                                          std::optional(defaults.without_post_halt));
}

void read_post_halt(const Table& root, Draft& draft, Reader& reader) {
    const auto section = one_section(root, "post_halt", reader);
    if (!section) {
        return;
    }
    const auto has = [&section](std::string_view key) {
        return find(*section->table, key) != nullptr;
    };
    if (has("chip") || has("line")) {
        draft.post_halt.where = read_line(*section, "[post_halt]", draft, reader);
    }
    if (has("active")) {
        const auto active = reader.word(*section, "active", level_words, std::optional<bool>());
        draft.post_halt.active_low = active ? std::optional(active->value) : std::nullopt;
    }
    if (has("pulse")) {
        const auto pulse = reader.duration(*section, "pulse", pulse_range, std::nullopt);
        draft.post_halt.pulse = pulse ? std::optional(pulse->value) : std::nullopt;
    }
}

std::optional<LedName> read_led(const Section& section, Draft& draft, Reader& reader) {
    const auto name = reader.text(section, "led", longest_led_name);
    if (!name) {
        return std::nullopt;
    }
    // It becomes the name of a folder under /sys/class/leds.
    if (name->value.find('/') != std::string::npos || name->value == "." || name->value == "..") {
        reader.error(name->place,
                     full_key(section, "led"),
                     in_quotes(name->value) +
                         " is no LED's name; expected one that stands in /sys/class/leds");
        return std::nullopt;
    }
    draft.uses.push_back(
        {{"", name->value}, "another [[feedback]]", name->place, full_key(section, "led")});
    return LedName{name->value};
}

void read_patterns(const Section& section, Feedback& feedback, Reader& reader) {
    bool shows = false;
    for (const core::CueName cue : core::all_cues) {
        const Entry* entry = find(*section.table, core::text_of(cue));
        if (entry == nullptr) {
            continue;
        }
        const std::string key = full_key(section, entry->key);
        const std::string* text = reader.text_in(entry->value, key, "a pattern in double quotes");
        if (text == nullptr) {
            shows = true;
            continue;
        }
        const auto pattern = parse_pattern(*text);
        if (!pattern) {
            reader.error(entry->value.place, key, in_quotes(*text) + " " + pattern.error());
            shows = true;
            continue;
        }
        feedback.patterns[static_cast<std::size_t>(cue)] = *pattern;
        shows = shows || pattern->kind != core::PatternKind::off;
    }
    if (!shows) {
        reader.warning(section.place, section.name, "every cue is off, so this shows nothing");
    }
}

void read_feedback(const Section& section, Draft& draft, Reader& reader) {
    const auto has = [&section](std::string_view key) {
        return find(*section.table, key) != nullptr;
    };
    Feedback feedback;
    const bool line = has("chip") || has("line");
    if (has("led") == line) {
        reader.error(
            section.place,
            section.name,
            line ? "has both led and chip or line; each output needs a section of its own"
                 : "says neither led nor chip and line, so there is nothing to show cues on");
    } else if (line) {
        const auto where = read_line(section, "another [[feedback]]", draft, reader);
        const auto active = reader.word(section, "active", level_words, std::optional(false));
        feedback.output = FeedbackLine{where.value_or(LineName{}), active ? active->value : false};
    } else {
        feedback.output = read_led(section, draft, reader).value_or(LedName{});
        if (has("active")) {
            reader.error(find(*section.table, "active")->place,
                         full_key(section, "active"),
                         "goes with a line; the kernel knows the level that lights an LED");
        }
    }
    read_patterns(section, feedback, reader);
    draft.feedback.push_back(std::move(feedback));
}

void read_feedbacks(const Table& root, Draft& draft, Reader& reader) {
    const auto sections = all_sections(root, "feedback", reader);
    if (sections && sections->size() > most_sections) {
        reader.error((*sections)[most_sections].place, "feedback", "more than 16 feedbacks");
    } else if (sections) {
        for (const Section& section : *sections) {
            read_feedback(section, draft, reader);
        }
    }
}

/// Only of a draft in which nothing was wrong.
Settings settled(const Draft& draft) {
    Settings settings;
    settings.button = {draft.button_line, draft.pressed_low->value, draft.bias->value};
    settings.core.press_interval = draft.press->value;
    settings.core.release_interval = draft.release->value;
    settings.core.stuck_after = draft.stuck_after->value;
    settings.core.act_on = draft.act_on->value;
    for (const StageDraft& stage : *draft.stages) {
        settings.core.stages.push_back({stage.name->value, stage.hold->value, stage.action->value});
    }
    std::sort(settings.core.stages.begin(),
              settings.core.stages.end(),
              [](const core::Stage& a, const core::Stage& b) { return a.hold < b.hold; });
    settings.core.grace = draft.grace->value;
    settings.core.inhibitors = draft.inhibitors->value;
    settings.core.without_post_halt = draft.without_post_halt->value;
    settings.post_halt = draft.post_halt;
    settings.feedback = draft.feedback;
    settings.circuit = draft.circuit;
    return settings;
}

}  // namespace

Loaded load(std::string_view text) {
    const auto document = parse_document(text);
    if (!document) {
        return {std::nullopt, {document.error()}};
    }
    Reader reader;
    Draft draft;
    const Table& root = document->root;
    check_names(root, reader);
    read_button(root, draft, reader);
    read_stages(root, draft, reader);
    read_leave(root, draft, reader);
    read_post_halt(root, draft, reader);
    read_feedbacks(root, draft, reader);
    draft.circuit = read_circuit_section(root, reader);
    check_contradictions(draft, reader);
    Loaded loaded{std::nullopt, reader.take()};
    if (!has_errors(loaded.diagnostics)) {
        loaded.settings = settled(draft);
    }
    return loaded;
}

}  // namespace nightlatch::config
