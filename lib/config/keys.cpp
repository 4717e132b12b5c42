// SPDX-License-Identifier: MIT
#include "config/keys.hpp"

#include "base/ensure.hpp"
#include "config/member.hpp"
#include "config/pattern_text.hpp"
#include "config/words.hpp"

#include <algorithm>
#include <array>
#include <utility>

namespace nightlatch::config {
namespace {

using namespace std::chrono_literals;

/// A chip's name, its label and a line's name are 32 bytes with the ending NUL
/// [include/uapi/linux/gpio.h, GPIO_MAX_NAME_SIZE].
constexpr std::size_t longest_gpio_name = 31;
/// [include/uapi/linux/uleds.h, LED_MAX_NAME_SIZE: 64 with the ending NUL]
constexpr std::size_t longest_led_name = 63;
constexpr std::size_t longest_stage_name = 63;
constexpr std::size_t longest_alarm_name = longest_stage_name;
/// Leaves room for the ".new" of an unfinished file: a name has at most 255 bytes
/// [path_resolution(7)].
constexpr std::size_t longest_logbook_path = 240;

constexpr DurationRange debounce_range{0s, 1s};

// clang-format off
constexpr std::array button_keys{
    Key{.name = "chip", .kind = Kind::chip, .absent = Absent::wrong, .longest = longest_gpio_name,
        .member = member<&Settings::button, &Button::where, &lines::LineName::chip>,
        .sentence = "The button's line"},
    Key{.name = "line", .kind = Kind::line, .absent = Absent::wrong, .longest = longest_gpio_name,
        .member = member<&Settings::button, &Button::where, &lines::LineName::line>,
        .sentence = "The button's line"},
    Key{.name = "pressed", .kind = Kind::word, .absent = Absent::wrong, .words = texts_of<level_words>,
        .member = word_member<level_words, &Settings::button, &Button::active_low>,
        .sentence = "The level while the button is pressed"},
    Key{.name = "bias", .kind = Kind::word, .words = texts_of<bias_words>,
        .member = word_member<bias_words, &Settings::button, &Button::bias>,
        .sentence = "The resistor inside the chip"},
    Key{.name = "debounce", .part = "press", .kind = Kind::duration, .range = debounce_range,
        .member = member<&Settings::core, &core::Settings::press_interval>,
        .sentence = "How long a level must be stable to count"},
    Key{.name = "debounce", .part = "release", .kind = Kind::duration, .range = debounce_range,
        .member = member<&Settings::core, &core::Settings::release_interval>,
        .sentence = "How long a level must be stable to count"},
    Key{.name = "stuck_after", .kind = Kind::duration, .range = {1s, 24h},
        .member = member<&Settings::core, &core::Settings::stuck_after>,
        .sentence = "A press as long as this is taken for a stuck button and does nothing"},
    Key{.name = "act_on", .kind = Kind::word, .words = texts_of<act_on_words>,
        .member = word_member<act_on_words, &Settings::core, &core::Settings::act_on>,
        .sentence = "When the action happens"},
};

constexpr std::array stage_keys{
    Key{.name = "name", .kind = Kind::name, .absent = Absent::wrong, .longest = longest_stage_name,
        .member = member<&Settings::core, &core::Settings::stages, &core::Stage::name>,
        .sentence = "What the stage is called"},
    Key{.name = "hold", .kind = Kind::duration, .absent = Absent::wrong, .range = {1ms, 24h},
        .member = member<&Settings::core, &core::Settings::stages, &core::Stage::hold>,
        .sentence = "How long the button must be held"},
    Key{.name = "action", .kind = Kind::word, .absent = Absent::wrong, .words = texts_of<action_words>,
        .member = word_member<action_words, &Settings::core, &core::Settings::stages, &core::Stage::action>,
        .sentence = "What is done"},
};

constexpr std::array leave_keys{
    Key{.name = "grace", .kind = Kind::duration, .range = {0s, 10min},
        .member = member<&Settings::core, &core::Settings::grace>,
        .sentence = "A countdown before the action, which another press calls off"},
    Key{.name = "inhibitors", .kind = Kind::word, .words = texts_of<inhibitor_words>,
        .member = word_member<inhibitor_words, &Settings::core, &core::Settings::inhibitors>,
        .sentence = "What to do when another program holds a block lock of the login manager's"},
    Key{.name = "without_post_halt", .kind = Kind::word, .words = texts_of<without_post_halt_words>,
        .member = word_member<without_post_halt_words, &Settings::core, &core::Settings::without_post_halt>,
        .sentence = "What to do when the kernel would not raise the post-halt line"},
};

constexpr std::array alarm_keys{
    Key{.name = "name", .kind = Kind::name, .absent = Absent::wrong, .longest = longest_alarm_name,
        .member = member<&Settings::core, &core::Settings::alarms, &core::Alarm::name>,
        .sentence = "What the alarm is called"},
    Key{.name = "chip", .kind = Kind::chip, .absent = Absent::wrong, .longest = longest_gpio_name,
        .member = member<&Settings::alarm_lines, &AlarmLine::where, &lines::LineName::chip>,
        .sentence = "The alarm's line"},
    Key{.name = "line", .kind = Kind::line, .absent = Absent::wrong, .longest = longest_gpio_name,
        .member = member<&Settings::alarm_lines, &AlarmLine::where, &lines::LineName::line>,
        .sentence = "The alarm's line"},
    Key{.name = "active", .kind = Kind::word, .absent = Absent::wrong, .words = texts_of<level_words>,
        .member = word_member<level_words, &Settings::alarm_lines, &AlarmLine::active_low>,
        .sentence = "The level that is the alarm"},
    Key{.name = "bias", .kind = Kind::word, .words = texts_of<bias_words>,
        .member = word_member<bias_words, &Settings::alarm_lines, &AlarmLine::bias>,
        .sentence = "The resistor inside the chip"},
    Key{.name = "lasting", .kind = Kind::duration, .range = {100ms, 1h},
        .member = member<&Settings::core, &core::Settings::alarms, &core::Alarm::lasting>,
        .sentence = "How long the level must last"},
    Key{.name = "at_start", .kind = Kind::word, .words = texts_of<at_start_words>,
        .member = word_member<at_start_words, &Settings::core, &core::Settings::alarms, &core::Alarm::at_start>,
        .sentence = "A level that is there at the first start in a boot"},
    Key{.name = "inhibitors", .kind = Kind::word, .words = texts_of<inhibitor_words>,
        .member = word_member<inhibitor_words, &Settings::core, &core::Settings::alarms, &core::Alarm::inhibitors>,
        .sentence = "What to do when another program holds a block lock of the login manager's"},
    Key{.name = "repeat", .kind = Kind::duration, .absent = Absent::unstated, .range = {10s, 24h},
        .member = member<&Settings::core, &core::Settings::alarms, &core::Alarm::repeat>,
        .sentence = "How long after a refusal it asks again"},
    Key{.name = "action", .kind = Kind::word, .words = texts_of<action_words>,
        .member = word_member<action_words, &Settings::core, &core::Settings::alarms, &core::Alarm::action>,
        .sentence = "What is done"},
};

constexpr std::array post_halt_keys{
    Key{.name = "chip", .kind = Kind::chip, .absent = Absent::wrong, .goes_with = GoesWith::line, .longest = longest_gpio_name,
        .member = member<&Settings::post_halt, &PostHalt::where, &lines::LineName::chip>,
        .sentence = "The line"},
    Key{.name = "line", .kind = Kind::line, .absent = Absent::wrong, .goes_with = GoesWith::line, .longest = longest_gpio_name,
        .member = member<&Settings::post_halt, &PostHalt::where, &lines::LineName::line>,
        .sentence = "The line"},
    Key{.name = "active", .kind = Kind::word, .absent = Absent::unstated, .words = texts_of<level_words>,
        .member = word_member<level_words, &Settings::post_halt, &PostHalt::active_low>,
        .sentence = "The level that lets the supply disconnect"},
    Key{.name = "pulse", .kind = Kind::duration, .absent = Absent::unstated, .range = {1ms, 1min},
        .member = member<&Settings::post_halt, &PostHalt::pulse>,
        .sentence = "The circuit needs the line active, unbroken, at least this long"},
};

constexpr std::array output_keys{
    Key{.name = "led", .kind = Kind::led, .absent = Absent::wrong, .goes_with = GoesWith::led, .longest = longest_led_name,
        .member = member<&Settings::feedback, &Feedback::output, &LedName::name>,
        .sentence = "A name in /sys/class/leds"},
    Key{.name = "chip", .kind = Kind::chip, .absent = Absent::wrong, .goes_with = GoesWith::line, .longest = longest_gpio_name,
        .member = member<&Settings::feedback, &Feedback::output, &FeedbackLine::where, &lines::LineName::chip>,
        .sentence = "Or a line that is driven"},
    Key{.name = "line", .kind = Kind::line, .absent = Absent::wrong, .goes_with = GoesWith::line, .longest = longest_gpio_name,
        .member = member<&Settings::feedback, &Feedback::output, &FeedbackLine::where, &lines::LineName::line>,
        .sentence = "Or a line that is driven"},
    Key{.name = "active", .kind = Kind::word, .goes_with = GoesWith::line, .words = texts_of<level_words>,
        .member = word_member<level_words, &Settings::feedback, &Feedback::output, &FeedbackLine::active_low>,
        .sentence = "the level that lights it or makes it sound"},
};

constexpr std::array logbook_keys{
    Key{.name = "path", .kind = Kind::path, .longest = longest_logbook_path,
        .member = member<&Settings::logbook, &LogbookSettings::path>,
        .sentence = "The file"},
    Key{.name = "keep", .kind = Kind::count, .counts = {1, 10'000},
        .member = member<&Settings::logbook, &LogbookSettings::keep>,
        .sentence = "How many runs are always there"},
};
// clang-format on

template <core::CueName Cue>
constexpr Member cue_member{
    [](const Settings& settings, std::size_t at) -> std::optional<KeyValue> {
        const core::Looks& looks = settings.feedback[at].looks;
        const bool by_stage = Cue == core::CueName::ready && !looks.ready_by_stage.empty();
        return by_stage ? std::nullopt
                        : std::optional<KeyValue>(looks.by_cue[static_cast<std::size_t>(Cue)]);
    },
    [](Settings& settings, std::size_t at, const KeyValue& value) {
        core::Looks& looks = settings.feedback[at].looks;
        looks.by_cue[static_cast<std::size_t>(Cue)] = std::get<core::Pattern>(value);
        if (Cue == core::CueName::ready) {
            looks.ready_by_stage.clear();
        }
    }};

constexpr StageMember ready_of_stage{
    [](const Settings& settings, std::size_t at, std::size_t stage) -> std::optional<KeyValue> {
        const auto& looks = settings.feedback[at].looks.ready_by_stage;
        return stage < looks.size() ? std::optional<KeyValue>(looks[stage]) : std::nullopt;
    },
    [](Settings& settings, std::size_t at, std::size_t stage, const KeyValue& value) {
        auto& looks = settings.feedback[at].looks.ready_by_stage;
        looks.resize(settings.core.stages.size());
        looks[stage] = std::get<core::Pattern>(value);
    }};

/// The output, then a key for each cue that the core has.
constexpr auto feedback_keys = []<std::size_t... Cue>(std::index_sequence<Cue...>) {
    std::array<Key, output_keys.size() + core::cue_count> keys;
    std::copy(output_keys.begin(), output_keys.end(), keys.begin());
    ((keys[output_keys.size() + Cue] =
          Key{.name = core::text_of(core::all_cues[Cue]),
              .kind = Kind::pattern,
              .member = cue_member<core::all_cues[Cue]>,
              .by_stage =
                  core::all_cues[Cue] == core::CueName::ready ? ready_of_stage : StageMember{},
              .sentence = "What each cue looks like"}),
     ...);
    return keys;
}
(std::make_index_sequence<core::cue_count>());

std::size_t one(const Settings& /*settings*/) {
    return 1;
}

std::size_t stage_count(const Settings& settings) {
    return settings.core.stages.size();
}

std::size_t feedback_count(const Settings& settings) {
    return settings.feedback.size();
}

std::size_t alarm_count(const Settings& settings) {
    return settings.core.alarms.size();
}

std::size_t circuit_count(const Settings& settings) {
    return settings.circuit ? 1 : 0;
}

void add_stage(Settings& settings) {
    settings.core.stages.emplace_back();
}

void add_feedback(Settings& settings) {
    settings.feedback.emplace_back();
}

void add_alarm(Settings& settings) {
    settings.core.alarms.emplace_back();
    settings.alarm_lines.emplace_back();
}

constexpr std::array format{
    KnownSection{"button", "[button]", button_keys, "the button", one},
    KnownSection{"stage", "[[stage]]", stage_keys, "", stage_count, add_stage},
    KnownSection{"leave", "[leave]", leave_keys, "", one},
    KnownSection{"post_halt", "[post_halt]", post_halt_keys, "[post_halt]", one},
    KnownSection{
        "feedback", "[[feedback]]", feedback_keys, "a [[feedback]]", feedback_count, add_feedback},
    KnownSection{"alarm", "[[alarm]]", alarm_keys, "an [[alarm]]", alarm_count, add_alarm},
    KnownSection{"logbook", "[logbook]", logbook_keys, "", one},
    KnownSection{"circuit", "[circuit]", {}, "", circuit_count}};

}  // namespace

std::string to_text(const CountRange& range) {
    return std::to_string(range.least) + " to " + std::to_string(range.most);
}

std::string text_of(const KeyValue& value) {
    if (const auto* count = std::get_if<std::size_t>(&value)) {
        return std::to_string(*count);
    }
    if (const auto* duration = std::get_if<Duration>(&value)) {
        return nightlatch::to_text(*duration);
    }
    const auto* pattern = std::get_if<core::Pattern>(&value);
    return pattern != nullptr ? pattern_text(*pattern) : std::get<std::string>(value);
}

std::span<const KnownSection> known_sections() noexcept {
    return format;
}

std::vector<std::string_view> key_names(const KnownSection& section) {
    std::vector<std::string_view> names;
    for (const Key& key : section.keys) {
        if (names.empty() || names.back() != key.name) {
            names.push_back(key.name);
        }
    }
    return names;
}

std::string full_name(const KnownSection& section, const Key& key) {
    std::string name = std::string(section.name) + "." + std::string(key.name);
    return key.part.empty() ? name : name + "." + std::string(key.part);
}

const Key& key_named(std::string_view full_name) {
    const auto next = [&full_name] {
        const std::string_view word = full_name.substr(0, full_name.find('.'));
        full_name.remove_prefix(std::min(word.size() + 1, full_name.size()));
        return word;
    };
    const std::string_view of_section = next();
    const std::string_view name = next();
    const auto section = std::find_if(
        format.begin(), format.end(), [&](const auto& one) { return one.name == of_section; });
    NIGHTLATCH_ENSURE(section != format.end());
    const auto key = std::find_if(section->keys.begin(), section->keys.end(), [&](const Key& one) {
        return one.name == name && one.part == full_name;
    });
    NIGHTLATCH_ENSURE(key != section->keys.end());
    return *key;
}

namespace {

void add_by_stage(const Key& key,
                  const Settings& settings,
                  std::size_t at,
                  std::vector<ShownKey>& shown) {
    for (std::size_t stage = 0; stage < settings.core.stages.size(); ++stage) {
        if (auto value = key.by_stage.get(settings, at, stage)) {
            const std::string& name = settings.core.stages[stage].name;
            shown.push_back({key.name, name, key.kind, std::move(*value), true});
        }
    }
}

}  // namespace

std::vector<ShownKey> shown_keys(const KnownSection& section,
                                 const Settings& settings,
                                 std::size_t at) {
    std::vector<ShownKey> shown;
    for (const Key& key : section.keys) {
        if (auto value = key.member.get(settings, at)) {
            shown.push_back({key.name, key.part, key.kind, std::move(*value)});
        }
        if (key.by_stage.get != nullptr) {
            add_by_stage(key, settings, at, shown);
        }
    }
    if (section.name == "circuit" && settings.circuit) {
        for (const CircuitText& one : settings.circuit->texts) {
            shown.push_back({one.key, "", Kind::name, one.text});
        }
    }
    return shown;
}

}  // namespace nightlatch::config
