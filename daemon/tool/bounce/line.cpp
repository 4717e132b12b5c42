// SPDX-License-Identifier: MIT
#include "daemon/tool/bounce/plan.hpp"
#include "daemon/tool/bounce/progress.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"
#include "wave/vcd_writer.hpp"

#include <algorithm>
#include <cstdio>
#include <memory>

namespace nightlatch::tool {
namespace {

/// Before the person presses: what they did could not be written down afterwards.
Result<std::optional<OutputFile>> open_recording(const std::optional<std::string>& name) {
    if (!name) {
        return std::optional<OutputFile>();
    }
    auto file = OutputFile::open(*name);
    if (!file) {
        return Unexpected{file.error()};
    }
    return std::optional(std::move(*file));
}

/// Runs until it has ended; a sentence where it did not end by itself or by the person.
std::optional<std::string> run_to_end(sys::EventLoop& loop,
                                      Bouncing& bouncing,
                                      BounceProgress& progress) {
    bouncing.on_step([&] { progress.step(bouncing); });
    bouncing.on_end([&loop] { loop.exit(0); });
    const Outcome signals = loop.on_signal([&bouncing](int) { bouncing.stop(BounceEnd::signal); });
    if (!signals) {
        return signals.error().text;
    }
    const Result<int> ran = loop.run();
    progress.end();
    if (!ran) {
        return ran.error().text;
    }
    return bouncing.failure() ? std::optional(bouncing.failure()->text) : std::nullopt;
}

/// What the measurement has shown of the line; then the report.
int report_on_line(const BounceOptions& options, BounceTarget target, const Bouncing& bouncing) {
    target.pressed_low = bouncing.pressed_low();
    target.sleeps = bouncing.sleeps();
    return report_bounce(options, target, bouncing.seen());
}

}  // namespace

int bounce_on_line(const BounceOptions& options, const std::optional<BounceConfig>& config) {
    const WatchOptions watch = as_watched(options, config);
    const LinesFacts facts = gather_lines({}, "");
    const auto line = choose_bounce_line(facts, watch);
    if (!line) {
        return complain(line.error().text, line.error().status);
    }
    auto recording = open_recording(options.vcd);
    if (!recording) {
        return complain(recording.error().text, no_answer);
    }
    const Chips& chips = facts.survey.chips;
    const BounceTarget target = line_target(options, config, short_name(chips, *line), watch.bias);
    BounceProgress progress(options.json ? stderr : stdout, target);
    progress.say(before_text(facts, {*line}, watch));
    auto loop = sys::EventLoop::open();
    if (!loop) {
        return complain(loop.error().text, 1);
    }
    const gpio::Wanted wanted{{chips[line->chip].name, std::to_string(line->offset)},
                              watch.bias,
                              false,
                              false,
                              gpio::tool_consumer_name};
    const auto bouncing = Bouncing::start(**loop, {}, wanted, plan_of(options, target));
    if (!bouncing) {
        return complain(bouncing.error().text, 1);
    }
    progress.say("Hands off the button for a second.\n");
    if (const auto failed = run_to_end(**loop, **bouncing, progress)) {
        return complain(*failed, 1);
    }
    const int status = report_on_line(options, target, **bouncing);
    if (*recording) {
        const Outcome written = (*recording)->write(wave::write_vcd(timeline_of(**bouncing)));
        return written ? status : complain(written.error().text, no_answer);
    }
    return status;
}

}  // namespace nightlatch::tool
