// SPDX-License-Identifier: MIT
#include "picture/diagram_moments.hpp"

#include "picture/diagram_text.hpp"

#include <algorithm>

namespace nightlatch::picture::svg {
namespace {

using namespace std::chrono_literals;

constexpr std::size_t presses_drawn = 24;
constexpr std::size_t presses_at_each_end = 6;
constexpr std::size_t episodes_drawn = 40;
constexpr std::size_t episodes_at_each_end = 8;
constexpr std::size_t stages_drawn = 32;
constexpr std::size_t outputs_drawn = 16;

/// Two ascending lists as one; in time that is proportional to their lengths.
void merge_into(std::vector<Duration>& all, const std::vector<Duration>& more) {
    std::vector<Duration> both;
    both.reserve(all.size() + more.size());
    std::merge(all.begin(), all.end(), more.begin(), more.end(), std::back_inserter(both));
    all = std::move(both);
}

template <class Item>
std::vector<Duration> times_of(const std::vector<Item>& items) {
    std::vector<Duration> times;
    times.reserve(items.size());
    for (const Item& item : items) {
        times.push_back(item.at);
    }
    return times;
}

void add_times(std::vector<Duration>& times,
               const wave::Hold& hold,
               const wave::Timeline& timeline) {
    times.push_back(hold.begin);
    for (const wave::Threshold& stage : timeline.thresholds) {
        if (stage.hold <= hold.end - hold.begin) {
            times.push_back(hold.begin + stage.hold);
        }
    }
    times.push_back(hold.end);
}

std::vector<Duration> times_in_holds(const wave::Timeline& timeline) {
    std::vector<Duration> times;
    times.reserve(timeline.holds.size() * 4);
    for (const wave::Hold& hold : timeline.holds) {
        add_times(times, hold, timeline);
    }
    std::sort(times.begin(), times.end());
    return times;
}

template <class Item>
void put_in_order(std::vector<Item>& items, Duration end) {
    for (Item& item : items) {
        item.at = std::clamp(item.at, Duration::zero(), end);
    }
    std::stable_sort(
        items.begin(), items.end(), [](const Item& a, const Item& b) { return a.at < b.at; });
}

void limit_texts(wave::Timeline& timeline, std::size_t longest) {
    const std::size_t longest_word = std::min<std::size_t>(longest, 80);
    for (wave::CueChange& cue : timeline.cues) {
        cue.cue = limited(std::move(cue.cue), longest_word);
        cue.state = limited(std::move(cue.state), longest_word);
        cue.stage = limited(std::move(cue.stage), longest_word);
    }
    for (wave::Threshold& stage : timeline.thresholds) {
        stage.name = limited(std::move(stage.name), longest_word);
        stage.action = limited(std::move(stage.action), longest_word);
    }
    for (wave::Mark& mark : timeline.marks) {
        mark.text = limited(std::move(mark.text), longest);
    }
}

/// Lamps and buzzers: lengths that can be added to any time.
void put_outputs_in_order(std::vector<wave::Output>& outputs, Duration end) {
    outputs.resize(std::min(outputs.size(), outputs_drawn));
    for (wave::Output& output : outputs) {
        output.name = limited(std::move(output.name), 80);
        output.about = limited(std::move(output.about), 80);
        put_in_order(output.looks, end);
        for (wave::LookChange& look : output.looks) {
            look.look = limited(std::move(look.look), 40);
            const Duration longest = look.repeats ? Duration(1h) : end;
            look.on = std::clamp(look.on, Duration::zero(), longest);
            look.off = std::clamp(look.off, Duration::zero(), Duration(1h));
        }
    }
}

/// Half the way into the pause that begins at `at`, or as far as is worth seeing.
Duration into_pause(Duration pause, double pace) {
    return std::min(pause / 2, paced(pace, 2 * seen_of_pause));
}

void skip_presses(const wave::Timeline& timeline, double pace, Span& skip) {
    const auto& holds = timeline.holds;
    if (holds.size() <= presses_drawn) {
        return;
    }
    const std::size_t left = presses_at_each_end - 1;
    const std::size_t right = holds.size() - presses_at_each_end;
    skip.begin = std::min(
        skip.begin, holds[left].end + into_pause(holds[left + 1].begin - holds[left].end, pace));
    skip.end = std::max(
        skip.end, holds[right].begin - into_pause(holds[right].begin - holds[right - 1].end, pace));
}

void skip_episodes(const std::vector<Duration>& moments, double pace, Span& skip) {
    const Duration pause = paced(pace, longest_pause);
    std::vector<std::size_t> ends;  // of episodes: the moments before a pause
    ends.reserve(64);
    for (std::size_t i = 0; i + 1 < moments.size(); ++i) {
        if (moments[i + 1] - moments[i] > pause) {
            ends.push_back(i);
        }
    }
    if (ends.size() < episodes_drawn) {
        return;
    }
    const std::size_t left = ends[episodes_at_each_end - 1];
    const std::size_t right = ends[ends.size() - episodes_at_each_end];
    skip.begin = std::min(skip.begin, moments[left] + paced(pace, seen_of_pause));
    skip.end = std::max(skip.end, moments[right + 1] - paced(pace, seen_of_pause));
}

}  // namespace

double seconds(Duration time) noexcept {
    return std::chrono::duration<double>(time).count();
}

Duration paced(double pace, Duration length) noexcept {
    return std::chrono::duration_cast<Duration>(length * pace);
}

double pace_of(const wave::Timeline& timeline) noexcept {
    if (timeline.thresholds.empty()) {
        return 1;
    }
    const Duration middle = timeline.thresholds[timeline.thresholds.size() / 2].hold;
    return std::clamp(std::chrono::duration<double>(middle).count() / 3, 0.2, 4.0);
}

std::vector<Duration> moments_of(const wave::Timeline& timeline) {
    std::vector<Duration> all{Duration::zero(), timeline.end};
    merge_into(all, times_of(timeline.raw));
    merge_into(all, times_of(timeline.settled));
    merge_into(all, times_of(timeline.cues));
    merge_into(all, times_of(timeline.marks));
    merge_into(all, times_in_holds(timeline));
    all.erase(std::unique(all.begin(), all.end()), all.end());
    return all;
}

std::optional<Span> too_many(const wave::Timeline& timeline, const std::vector<Duration>& moments) {
    const double pace = pace_of(timeline);
    Span skip{timeline.end, Duration::zero()};
    skip_presses(timeline, pace, skip);
    skip_episodes(moments, pace, skip);
    if (skip.begin >= skip.end) {
        return std::nullopt;
    }
    return skip;
}

wave::Timeline in_order(wave::Timeline timeline, std::size_t longest) {
    timeline.end = std::max(timeline.end, Duration::zero());
    limit_texts(timeline, longest);
    put_in_order(timeline.raw, timeline.end);
    put_in_order(timeline.settled, timeline.end);
    put_in_order(timeline.cues, timeline.end);
    put_in_order(timeline.marks, timeline.end);
    put_outputs_in_order(timeline.outputs, timeline.end);
    for (wave::Hold& hold : timeline.holds) {
        hold.begin = std::clamp(hold.begin, Duration::zero(), timeline.end);
        hold.end = std::clamp(hold.end, hold.begin, timeline.end);
    }
    std::stable_sort(timeline.holds.begin(),
                     timeline.holds.end(),
                     [](const wave::Hold& a, const wave::Hold& b) { return a.begin < b.begin; });
    auto& stages = timeline.thresholds;
    std::stable_sort(
        stages.begin(), stages.end(), [](const wave::Threshold& a, const wave::Threshold& b) {
            return a.hold < b.hold;
        });
    std::erase_if(stages,
                  [](const wave::Threshold& stage) { return stage.hold < Duration::zero(); });
    stages.resize(std::min(stages.size(), stages_drawn));
    return timeline;
}

}  // namespace nightlatch::picture::svg
