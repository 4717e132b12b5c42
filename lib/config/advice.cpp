// SPDX-License-Identifier: MIT
#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "config/draft.hpp"
#include "config/words.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <string_view>

namespace nightlatch::config {
namespace {

using namespace std::chrono_literals;
using nightlatch::to_text;
using Stages = std::vector<core::Stage>;

/// A knock, a lean or a curious finger is over by then.
constexpr Duration least_power_off_hold = 1s;
/// A load that starts pulls a supply down for less than that; nothing runs flat so fast.
constexpr Duration least_lasting = 1s;

void advise_on_short_holds(const Draft& draft, Reader& reader) {
    const Stages& stages = draft.settings.core.stages;
    for (std::size_t i = 0; i < stages.size(); ++i) {
        const auto place = draft.place("stage.hold", i);
        if (place && draft.place("stage.action", i) &&
            stages[i].action == core::Action::power_off && stages[i].hold < least_power_off_hold) {
            reader.warning(*place,
                           "stage.hold",
                           in_quotes(to_text(stages[i].hold)) +
                               " is short for a power-off: a knock against the button can be as "
                               "long; " +
                               to_text(least_power_off_hold) + " or more is safer");
        }
    }
}

bool advise_on_announcing(std::optional<Place> place,
                          std::string_view key,
                          core::Action action,
                          Reader& reader) {
    if (!place || action != core::Action::announce) {
        return false;
    }
    reader.warning(*place,
                   std::string(key),
                   "\"announce\" does nothing but tell those who listen, and the service cannot "
                   "see whether anybody does: make sure that a program follows it");
    return true;
}

/// Told of the first one only.
void advise_on_announcing(const Draft& draft, Reader& reader) {
    const core::Settings& core = draft.settings.core;
    for (std::size_t i = 0; i < core.stages.size(); ++i) {
        const auto place = draft.place("stage.action", i);
        if (advise_on_announcing(place, "stage.action", core.stages[i].action, reader)) {
            return;
        }
    }
    for (std::size_t i = 0; i < core.alarms.size(); ++i) {
        const auto place = draft.place("alarm.action", i);
        if (advise_on_announcing(place, "alarm.action", core.alarms[i].action, reader)) {
            return;
        }
    }
}

void advise_on_lasting(const Draft& draft, std::size_t at, Reader& reader) {
    const core::Alarm& alarm = draft.settings.core.alarms[at];
    const auto place = draft.place("alarm.lasting", at);
    if (place && draft.place("alarm.action", at) && alarm.action != core::Action::announce &&
        alarm.lasting < least_lasting) {
        reader.warning(*place,
                       "alarm.lasting",
                       in_quotes(to_text(alarm.lasting)) + " is short for a " +
                           std::string(word_for(action_words, alarm.action)) +
                           " without a countdown: a load that starts can pull a line that long; " +
                           to_text(least_lasting) + " or more lets it pass");
    }
}

/// It may be meant: a thermostat that opens, a wire whose break is to be seen.
void advise_on_alarm_bias(const Draft& draft, std::size_t at, Reader& reader) {
    const config::AlarmLine& line = draft.settings.alarm_lines[at];
    const auto bias = draft.place("alarm.bias", at);
    if (bias && draft.place("alarm.active", at) &&
        line.bias == (line.active_low ? lines::Bias::pull_down : lines::Bias::pull_up)) {
        reader.note(*bias,
                    "alarm.bias",
                    in_quotes(word_for(bias_words, line.bias)) + " pulls the line " +
                        std::string(word_for(level_words, line.active_low)) +
                        ", the level that is the alarm: a broken wire is one, too");
    }
}

/// Everything that the advice on `ready` goes by could be read.
bool sees_ready(const Draft& draft) {
    for (std::size_t i = 0; i < draft.settings.core.stages.size(); ++i) {
        if (!draft.place("stage.name", i)) {
            return false;
        }
    }
    for (std::size_t i = 0; i < draft.settings.feedback.size(); ++i) {
        if (!draft.place("feedback.ready", i)) {
            return false;
        }
    }
    return draft.places("stage") != nullptr && !draft.places("stage")->empty() &&
           draft.places("feedback") != nullptr && draft.place("button.act_on");
}

const core::Pattern& look_of_stage(const core::Looks& looks, std::size_t stage) {
    return core::look_of(
        looks, {.name = core::CueName::ready, .stage = static_cast<std::uint32_t>(stage)});
}

bool look_the_same(const Settings& settings, std::size_t stage, std::size_t other) {
    return std::all_of(
        settings.feedback.begin(), settings.feedback.end(), [&](const Feedback& output) {
            return look_of_stage(output.looks, stage) == look_of_stage(output.looks, other);
        });
}

std::string same_look_text(const core::Stage& first, const core::Stage& second) {
    const std::string one = in_quotes(first.name);
    const std::string other = in_quotes(second.name);
    return "the stages " + one + " and " + other +
           " look the same on every output, so nobody sees which of them letting go would mean; "
           "say for example ready = { " +
           one + R"( = "blink 1 Hz", )" + other + R"( = "on" })";
}

/// The first stage after this one that looks the same; none if there is not.
std::optional<std::size_t> same_look_after(const Settings& settings, std::size_t stage) {
    for (std::size_t other = stage + 1; other < settings.core.stages.size(); ++other) {
        if (look_the_same(settings, stage, other)) {
            return other;
        }
    }
    return std::nullopt;
}

/// A look that several stages share is told of the first two.
void advise_on_same_looks(const Draft& draft, Place place, Reader& reader) {
    const Stages& stages = draft.settings.core.stages;
    std::vector<bool> told(stages.size(), false);
    for (std::size_t i = 0; i < stages.size(); ++i) {
        const auto other = same_look_after(draft.settings, i);
        if (!other) {
            continue;
        }
        if (!told[i]) {
            reader.warning(place, "feedback.ready", same_look_text(stages[i], stages[*other]));
        }
        told[*other] = true;
    }
}

/// Where the button acts while it is held, nobody waits for a sign to let go.
void advise_on_ready(const Draft& draft, Reader& reader) {
    if (!sees_ready(draft) || draft.settings.core.act_on == core::ActOn::threshold) {
        return;
    }
    const std::vector<Feedback>& outputs = draft.settings.feedback;
    const auto shown = std::find_if(outputs.begin(), outputs.end(), [](const Feedback& output) {
        return core::shows(output.looks, core::CueName::ready);
    });
    if (shown == outputs.end()) {
        const Place place = outputs.empty() ? Place{} : draft.places("feedback")->front();
        reader.warning(place,
                       "feedback",
                       "no output shows the cue ready, so nobody sees when to let go; give an LED "
                       "or a buzzer a [[feedback]] with ready = \"on\"");
        return;
    }
    const auto at = static_cast<std::size_t>(shown - outputs.begin());
    advise_on_same_looks(draft, *draft.place("feedback.ready", at), reader);
}

/// What the units that write the logbook do not see, or what a power-off empties.
void advise_on_logbook(const Draft& draft, Reader& reader) {
    constexpr std::array<std::string_view, 8> unfit{
        "/run/", "/tmp/", "/var/tmp/", "/dev/", "/proc/", "/sys/", "/home/", "/root/"};
    const auto place = draft.place("logbook.path");
    const std::string& path = draft.settings.logbook.path;
    const auto below = std::find_if(unfit.begin(), unfit.end(), [&path](std::string_view folder) {
        return path.starts_with(folder);
    });
    if (place && below != unfit.end()) {
        reader.warning(*place,
                       "logbook.path",
                       in_quotes(path) + " is below " +
                           std::string(below->substr(0, below->size() - 1)) +
                           ", which the units that write the logbook do not see or a power-off "
                           "empties: no run would leave a record");
    }
}

}  // namespace

void advise(const Draft& draft, Reader& reader) {
    advise_on_short_holds(draft, reader);
    advise_on_announcing(draft, reader);
    for (std::size_t i = 0; i < draft.settings.core.alarms.size(); ++i) {
        advise_on_lasting(draft, i, reader);
        advise_on_alarm_bias(draft, i, reader);
    }
    advise_on_ready(draft, reader);
    advise_on_logbook(draft, reader);
}

}  // namespace nightlatch::config
