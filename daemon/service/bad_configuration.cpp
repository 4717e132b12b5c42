// SPDX-License-Identifier: MIT
#include "daemon/service/bad_configuration.hpp"

#include "daemon/cues/cue_set.hpp"

namespace nightlatch::service {
namespace {

/// For udev to give us the LEDs' files, and for a buzzer to be heard. The boot waits for it.
constexpr Duration shown_for = std::chrono::seconds(5);

}  // namespace

void show_bad_configuration(const World& world,
                            ports::Journal& journal,
                            const std::vector<config::Feedback>& feedback) {
    const auto loop = sys::EventLoop::open();
    if (feedback.empty() || !loop) {
        return;
    }
    sys::EventLoop& turning = **loop;
    cues::CueSet lamps(turning, journal, feedback, world.leds);
    sys::Timer over = turning.timer([&turning] { turning.exit(0); });
    if (!turning.on_signal([&turning](int) { turning.exit(0); })) {
        return;
    }
    core::Cue fault;
    fault.name = core::CueName::fault;
    fault.state = core::State::fault;
    lamps.show(fault);
    over.arm(turning.now() + shown_for);
    static_cast<void>(turning.run());
    lamps.finish(cues::Farewell::unusable);
}

}  // namespace nightlatch::service
