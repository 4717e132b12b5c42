// SPDX-License-Identifier: MIT
#include "daemon/tool/bounce/plan.hpp"

#include <algorithm>

namespace nightlatch::tool {
namespace {

std::optional<Refusal> held_by_us(const Chips& chips, const WatchOptions& watch) {
    const auto line = pick_line(chips, watch.lines.front(), watch.chip);
    if (!line) {
        return std::nullopt;  // choosing says why
    }
    const lines::Line& now = chips[line->chip].lines[line->offset];
    if (!now.used || now.consumer != gpio::consumer_name) {
        return std::nullopt;
    }
    return Refusal{long_name(chips, *line) +
                       " is held by the service, and measuring through the service is not there "
                       "yet.\nNext: sudo systemctl stop nightlatch, measure, then sudo systemctl "
                       "start nightlatch",
                   1};
}

}  // namespace

WatchOptions as_watched(const BounceOptions& options, const std::optional<BounceConfig>& config) {
    WatchOptions watch;
    watch.time = options.time;
    if (options.line.empty() && config) {
        watch.chip = config->settings.button.where.chip;
        watch.lines = {config->settings.button.where.line};
    } else if (options.line.size() == 2) {
        watch.chip = options.line.front();
        watch.lines = {options.line.back()};
    } else {
        watch.lines = options.line;
    }
    watch.bias = options.bias.value_or(config ? config->settings.button.bias : lines::Bias::as_is);
    return watch;
}

Result<PickedLine, Refusal> choose_bounce_line(const LinesFacts& facts, const WatchOptions& watch) {
    if (auto held = held_by_us(facts.survey.chips, watch)) {
        return Unexpected{std::move(*held)};
    }
    const auto lines = choose_lines(facts, watch);
    if (!lines) {
        return Unexpected{lines.error()};
    }
    return lines->front();
}

BounceTarget line_target(const BounceOptions& options,
                         const std::optional<BounceConfig>& config,
                         const std::string& name,
                         lines::Bias bias) {
    BounceTarget target;
    target.name = name;
    target.bias = bias;
    target.quiet = options.quiet;
    target.wanted = options.presses;
    target.pressed_told = config.has_value() || options.pressed_low.has_value();
    if (config) {
        take_config(target, *config);
        target.pressed_low = config->settings.button.active_low;
    }
    target.pressed_low = options.pressed_low.value_or(target.pressed_low);
    return target;
}

BouncePlan plan_of(const BounceOptions& options, const BounceTarget& target) {
    BouncePlan plan;
    plan.presses = options.presses;
    plan.time = options.time;
    plan.quiet = options.quiet;
    plan.configured = target.configured;
    plan.record = options.vcd.has_value();
    if (target.pressed_told) {
        plan.pressed_low = target.pressed_low;
    }
    return plan;
}

wave::Timeline timeline_of(const Bouncing& bouncing) {
    const auto [begin, end] = bouncing.span();
    wave::Timeline timeline;
    if (!bouncing.asking()) {
        return timeline;
    }
    timeline.raw.reserve(bouncing.recorded().size() + 1);
    timeline.raw.push_back({Duration::zero(), Level::inactive});
    for (const core::Sample& sample : bouncing.recorded()) {
        const Duration at = std::max(sample.stamp - begin, timeline.raw.back().at);
        timeline.raw.push_back({at, sample.level});
    }
    timeline.end = std::max(end - begin, timeline.raw.back().at);
    return timeline;
}

}  // namespace nightlatch::tool
