// SPDX-License-Identifier: MIT
#include "search.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::proof {

namespace {

constexpr std::array all_intervals{
    Intervals::equal, Intervals::press_below_release, Intervals::press_above_release};

std::string text_of(Intervals intervals) {
    switch (intervals) {
    case Intervals::equal:
        return "equal";
    case Intervals::press_below_release:
        return "below";
    case Intervals::press_above_release:
        return "above";
    }
    return "";
}

/// Nothing but edges with their own stamps; a request is refused at once.
Alphabet edges_alone() {
    Alphabet edges;
    edges.late_edges = edges.equal_edges = edges.false_reads = edges.resyncs = false;
    edges.vanishes = edges.reloads = edges.route = edges.former = false;
    edges.going = edges.preparing = edges.manager = edges.call_off = false;
    edges.prompt = true;
    return edges;
}

/// All that can come of a line.
Alphabet whole_line() {
    Alphabet line = edges_alone();
    line.late_edges = line.equal_edges = line.false_reads = true;
    line.resyncs = line.vanishes = line.reloads = true;
    return line;
}

/// All that can come of a request, with presses that do not bounce.
Alphabet answers(const core::Settings& settings) {
    Alphabet request = edges_alone();
    request.route = request.former = request.preparing = true;
    request.manager = request.call_off = true;
    request.prompt = false;
    request.stable = std::max(settings.press_interval, settings.release_interval);
    return request;
}

/// A request and a shutdown, ours or somebody's.
Alphabet shutdowns(const core::Settings& settings) {
    Alphabet request = answers(settings);
    request.route = request.former = request.manager = request.call_off = false;
    request.going = request.in_turn = true;
    return request;
}

void add_runs(Intervals intervals, std::vector<Run>& runs) {
    using core::ActOn;
    const auto add = [&](const std::string& name,
                         const Scaled& scaled,
                         const Alphabet& alphabet,
                         bool quick,
                         Lateness lateness = {}) {
        runs.push_back({name + "/" + text_of(intervals), scaled, alphabet, lateness, quick});
    };
    const auto with = [&](std::size_t stages, ActOn act_on, bool countdown, bool alarm) {
        return without_trial(scaled(intervals, countdown, stages, act_on, alarm));
    };
    const Scaled one = with(1, ActOn::release, false, false);
    const Scaled two = with(2, ActOn::release, false, false);
    const Scaled countdown = with(1, ActOn::release, true, false);
    const Scaled threshold = with(1, ActOn::threshold, false, false);
    const Scaled alarm = with(1, ActOn::release, false, true);
    add("edges", one, edges_alone(), true);
    add("edges at a threshold", threshold, edges_alone(), true);
    add("trial", scaled(intervals, false, 1, ActOn::release, false), edges_alone(), false);
    add("line", one, whole_line(), false);
    add("answers", one, answers(one.ticks), intervals == Intervals::equal);
    add("shutdowns", threshold, shutdowns(threshold.ticks), false);
    add("holding back", one, shutdowns(one.ticks), false);
    Alphabet foreign = shutdowns(threshold.ticks);
    foreign.prompt = foreign.dry = true;
    add("somebody's shutdown", threshold, foreign, intervals == Intervals::equal);
    add("stages", two, whole_line(), false);
    Alphabet called_off = edges_alone();
    called_off.call_off = true;
    add("bounce in a countdown", countdown, called_off, false);
    called_off.false_reads = called_off.resyncs = true;
    called_off.stable = std::min(countdown.ticks.press_interval, countdown.ticks.release_interval);
    add("countdown", countdown, called_off, intervals != Intervals::press_below_release);
    add("threshold", threshold, whole_line(), false);
    Alphabet alone = whole_line();
    alone.button = false;
    add("alarm", alarm, alone, false);
    Alphabet calm = edges_alone();
    calm.button = false;
    calm.stable = std::max(alarm.ticks.press_interval, alarm.ticks.release_interval);
    add("calm alarm", alarm, calm, true);
    Alphabet both = answers(alarm.ticks);
    both.route = both.former = both.manager = both.preparing = false;
    add("button and alarm", alarm, both, false);
    Alphabet all{};
    add("all", one, all, false);
}

/// Inputs that the quick ones lack.
void add_soon(std::vector<Run>& runs) {
    const Scaled one =
        without_trial(scaled(Intervals::equal, false, 1, core::ActOn::release, false));
    Alphabet trouble = answers(one.ticks);
    trouble.resyncs = trouble.vanishes = true;
    runs.push_back({"answers/soon", one, trouble, {}, false, true});
    Alphabet late = edges_alone();
    late.late_edges = late.equal_edges = true;
    runs.push_back({"late edges/soon", one, late, {}, false, true});
}

}  // namespace

std::vector<Run> all_runs() {
    std::vector<Run> runs;
    for (const Intervals intervals : all_intervals) {
        add_runs(intervals, runs);
    }
    add_soon(runs);
    return runs;
}

}  // namespace nightlatch::proof
