// SPDX-License-Identifier: MIT
#include "config/diagnostic.hpp"
#include "daemon/tool/bounce/plan.hpp"
#include "daemon/tool/bounce/progress.hpp"
#include "daemon/tool/terminal.hpp"
#include "wave/vcd_writer.hpp"

#include <algorithm>
#include <cstdio>
#include <memory>

namespace nightlatch::tool {
namespace {

struct CloseFile {
    void operator()(std::FILE* file) const noexcept { std::fclose(file); }
};

using File = std::unique_ptr<std::FILE, CloseFile>;

/// Before the person presses: what they did could not be written down afterwards.
Result<File, std::string> open_recording(const std::optional<std::string>& name) {
    if (!name) {
        return File();
    }
    File file(std::fopen(name->c_str(), "we"));
    if (!file) {
        return Unexpected{"cannot write " + *name};
    }
    return file;
}

/// False when it could not be written whole.
bool write_recording(std::FILE* file, const Bouncing& bouncing) {
    const std::string text = wave::write_vcd(timeline_of(bouncing));
    return std::fwrite(text.data(), 1, text.size(), file) == text.size() && std::fflush(file) == 0;
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
    const auto recording = open_recording(options.vcd);
    if (!recording) {
        return complain(recording.error(), 2);
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
    if (*recording && !write_recording(recording->get(), **bouncing)) {
        return complain("could not write all of " + *options.vcd, 1);
    }
    return status;
}

}  // namespace nightlatch::tool
