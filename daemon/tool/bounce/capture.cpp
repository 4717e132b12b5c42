// SPDX-License-Identifier: MIT
#include "base/text.hpp"
#include "daemon/tool/bounce/sources.hpp"
#include "daemon/tool/bounce/words.hpp"
#include "daemon/tool/terminal.hpp"
#include "daemon/tool/wave_file.hpp"

#include <string>

namespace nightlatch::tool {
namespace {

/// The time zero of a capture; any would do.
constexpr Instant origin{};

std::string errors_text(const std::string& file, const std::vector<wave::Problem>& problems) {
    std::string text;
    for (const wave::Problem& one : problems) {
        text += one.error ? (text.empty() ? "" : "\n") + problem_text(one, file) : "";
    }
    return text;
}

Level pressed(Level electrical, bool pressed_low) {
    return pressed_low ? !electrical : electrical;
}

void add_remarks(BounceSeen& seen, const std::string& file, const wave::CaptureRead& read) {
    for (const wave::Problem& one : read.problems) {
        seen.remarks.push_back(problem_text(one, file));
    }
    if (read.capture->unknown > 0) {
        seen.remarks.push_back("The capture leaves the level open " +
                               counted(read.capture->unknown, "time") +
                               "; the level before is taken to have stayed.");
    }
}

BounceTarget target_of(const BounceOptions& options,
                       const std::optional<BounceConfig>& config,
                       const wave::Capture& capture) {
    BounceTarget target;
    target.name =
        (capture.signal.empty() ? "" : capture.signal + " in ") + wave_name(*options.wave);
    target.captured = true;
    target.quiet = options.quiet;
    target.wanted = 1;
    if (config) {
        take_config(target, *config);
        target.pressed_low = config->settings.button.active_low;
    } else {
        target.pressed_told = options.pressed_low.has_value();
        target.pressed_low = capture.at_start == Level::active;
    }
    target.pressed_low = options.pressed_low.value_or(target.pressed_low);
    return target;
}

/// Only a button that is let go at both ends is known to rest there; how long it was held says
/// nothing. Each edge is to the other level.
bool is_pressed_level_open(const BounceTarget& target, const wave::Capture& capture) {
    return !target.pressed_told && capture.edges.size() % 2 == 1;
}

std::string open_level_text(const BounceTarget& target, const wave::Capture& capture) {
    const bool high = capture.at_start == Level::active;
    return safe(target.name) + " begins " + level_word(!high) + " and ends " + level_word(high) +
           ", so which of the two is pressed cannot be told: say --pressed low or --pressed high";
}

}  // namespace

BounceSeen measure_capture(const wave::Capture& capture, const BounceTarget& target) {
    BounceSeen seen;
    const Level first = pressed(capture.at_start, target.pressed_low);
    bounce::BounceMeasure measure(origin, first, target.quiet);
    if (target.configured) {
        seen.trial.emplace(*target.configured, origin, first);
    }
    const auto take = [&seen](const std::optional<bounce::BounceEpisode>& episode) {
        if (episode) {
            seen.take(*episode);
        }
    };
    for (const wave::CapturedEdge& edge : capture.edges) {
        const core::Sample sample{origin + edge.at, pressed(edge.level, target.pressed_low)};
        if (seen.trial) {
            seen.trial->sample(sample);
        }
        take(measure.sample(sample));
    }
    take(measure.finish(origin + capture.end));
    if (seen.trial) {
        seen.trial->finish();
    }
    seen.report = measure.report();
    return seen;
}

int bounce_on_capture(const BounceOptions& options, const std::optional<BounceConfig>& config) {
    const auto read = read_wave_file(*options.wave, options.of_wave);
    if (!read) {
        return complain(read.error().text, 2);
    }
    if (!read->capture) {
        return complain_lines(errors_text(*options.wave, read->problems));
    }
    const BounceTarget target = target_of(options, config, *read->capture);
    if (is_pressed_level_open(target, *read->capture)) {
        return complain(open_level_text(target, *read->capture), 2);
    }
    BounceSeen seen = measure_capture(*read->capture, target);
    add_remarks(seen, *options.wave, *read);
    return report_bounce(options, target, seen);
}

}  // namespace nightlatch::tool
