// SPDX-License-Identifier: MIT
#include "rehearsal/script_repeats.hpp"

#include "base/duration_text.hpp"

namespace nightlatch::rehearsal {
namespace {

using namespace std::chrono_literals;
using nightlatch::to_text;

constexpr std::int64_t most_repeats = 10'000;
constexpr std::size_t most_events_in_all = 2'000'000;
constexpr DurationRange every_range{1ms, 24h};

std::optional<std::int64_t> read_count(const config::Entry& repeat, config::Reader& reader) {
    const auto* count = std::get_if<std::int64_t>(&repeat.value.data);
    if (count != nullptr && *count >= 1 && *count <= most_repeats) {
        return *count;
    }
    reader.error(repeat.value.place,
                 "repeat",
                 "expected how often the script is played: a number, 1 to 10000");
    return std::nullopt;
}

/// Where the script leaves the button.
Level level_at_end(const PressScript& script) {
    Level level = script.level_at_start;
    for (const ScriptEvent& event : script.events) {
        const auto* moves = std::get_if<ButtonMoves>(&event.step);
        level = moves != nullptr ? moves->level : level;
    }
    return level;
}

/// The board is switched on: the button stands as at the start.
void play_again(PressScript& script, std::size_t events, Duration from, Level before) {
    script.events.push_back({from, ServiceDoes::boot});
    if (before != script.level_at_start) {
        script.events.push_back({from, ButtonMoves{script.level_at_start}});
    }
    for (std::size_t i = 0; i < events; ++i) {
        ScriptEvent again = script.events[i];
        again.at += from;
        script.events.push_back(std::move(again));
    }
}

}  // namespace

void read_repeats(const config::Section& root, PressScript& script, config::Reader& reader) {
    const config::Entry* repeat = find(*root.table, "repeat");
    const config::Entry* often = find(*root.table, "every");
    if (repeat == nullptr) {
        if (often != nullptr) {
            reader.error(often->place, "every", "goes with `repeat` only");
        }
        return;
    }
    const auto count = read_count(*repeat, reader);
    const auto every = reader.duration(root, "every", every_range, script.end);
    if (!count || !every) {
        return;
    }
    if (every->value < script.end || every->value == 0s) {
        reader.error(every->place,
                     "every",
                     "the script ends at " + to_text(script.end) +
                         "; expected a time that is no shorter, and longer than 0 s");
        return;
    }
    const std::size_t events = script.events.size();
    const auto times = static_cast<std::size_t>(*count);
    if ((events + 2) * times > most_events_in_all) {
        reader.error(repeat->value.place,
                     "repeat",
                     "more than 2,000,000 events in all: " + std::to_string(events) +
                         " in the script, " + std::to_string(*count) + " times");
        return;
    }
    script.events.reserve((events + 2) * times);
    const Level before = level_at_end(script);
    for (std::size_t time = 1; time < times; ++time) {
        play_again(script, events, every->value * static_cast<std::int64_t>(time), before);
    }
    script.end += every->value * (*count - 1);
}

}  // namespace nightlatch::rehearsal
