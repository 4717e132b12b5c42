// SPDX-License-Identifier: MIT
#include "daemon/cues/cue_set.hpp"

#include "daemon/cues/led_cue.hpp"
#include "daemon/cues/line_cue.hpp"
#include "daemon/gpio/output_line.hpp"

#include <utility>
#include <variant>

namespace nightlatch::cues {

namespace {

DrivenLine driven(const config::FeedbackLine& wanted) {
    auto line = std::make_shared<gpio::OutputLine>();
    return {[line, wanted]() -> Outcome {
                if (auto opened = line->open(wanted.where, wanted.active_low); !opened) {
                    return Unexpected{opened.error()};
                }
                return std::monostate{};
            },
            [line](Level level) { return line->set(level); },
            [line] { line->close(); }};
}

}  // namespace

CueSet::CueSet(sys::EventLoop& loop,
               ports::Journal& journal,
               const std::vector<config::Feedback>& feedback,
               const std::string& leds) {
    for (const config::Feedback& one : feedback) {
        if (const auto* led = std::get_if<config::LedName>(&one.output)) {
            outputs_.push_back(std::make_unique<LedCue>(
                loop, journal, LedSettings{.name = led->name, .looks = one.looks, .root = leds}));
        } else if (const auto* line = std::get_if<config::FeedbackLine>(&one.output)) {
            outputs_.push_back(std::make_unique<LineCue>(
                loop,
                journal,
                driven(*line),
                LineSettings{.name = line->where.line + " of " + line->where.chip,
                             .looks = one.looks}));
        }
    }
}

void CueSet::show(const core::Cue& cue) {
    for (const auto& output : outputs_) {
        output->show(cue);
    }
}

void CueSet::finish(Farewell farewell) {
    for (const auto& output : outputs_) {
        output->finish(farewell);
    }
}

}  // namespace nightlatch::cues
