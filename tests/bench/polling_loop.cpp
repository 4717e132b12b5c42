// SPDX-License-Identifier: MIT
#include "bench/polling_loop.hpp"

namespace nightlatch::bench {
namespace {

/// The button as the loop's read finds it at any moment.
class Button {
public:
    explicit Button(const rehearsal::PressScript& script)
        : script_(script), level_(script.level_at_start) {}

    Level read(Duration now) {
        while (next_ < script_.events.size() && script_.events[next_].at <= now) {
            const auto* moves = std::get_if<rehearsal::ButtonMoves>(&script_.events[next_++].step);
            level_ = moves != nullptr ? moves->level : level_;
        }
        return level_;
    }

private:
    const rehearsal::PressScript& script_;
    Level level_;
    std::size_t next_ = 0;
};

}  // namespace

Polled poll(const rehearsal::PressScript& script, Duration frame, Duration hold) {
    Button button(script);
    Polled polled;
    Level before = Level::inactive;
    Duration pressed_at{};
    for (Duration now{}; now <= script.end; now += frame) {
        const Level level = button.read(now);
        ++polled.polls;
        if (level == Level::active && before == Level::inactive) {
            pressed_at = now;
        } else if (level == Level::inactive && before == Level::active) {
            (now - pressed_at >= hold ? polled.requests : polled.near_misses).push_back(now);
        }
        before = level;
    }
    return polled;
}

}  // namespace nightlatch::bench
