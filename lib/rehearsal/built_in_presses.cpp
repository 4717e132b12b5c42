// SPDX-License-Identifier: MIT
#include "rehearsal/built_in_presses.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "rehearsal/bounce.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::rehearsal {
namespace {

using namespace std::chrono_literals;
using nightlatch::to_text;

constexpr Duration tap = 150ms;
constexpr Duration too_early_by = 100ms;
constexpr Duration longer_than_hold = 200ms;
constexpr Duration switched_on_for =
    1500ms;                                 ///< how long a finger stays that switches the board on
constexpr Duration call_off_after = 1s;     ///< the release: half a second at least
constexpr Duration call_off_press = 200ms;  ///< a tenth of a second at least
constexpr Duration going_down_takes = 2s;

class Player {
public:
    explicit Player(const config::Settings& settings)
        : core_(settings.core), pause_(2s + core_.press_interval + core_.release_interval) {}

    PressScript play() {
        now_ = pause_;
        taps();
        for (std::size_t i = 0; i < core_.stages.size(); ++i) {
            stage(i);
        }
        calls_off();
        vanishes();
        sticks();
        script_.end = now_;
        return std::move(script_);
    }

private:
    /// Some bounce, shorter than either interval of any sensible configuration.
    void press(Duration length) {
        const Bounce pressing(4, 1ms);
        const Bounce releasing(6, 1ms);
        const bool bounces = length > 20ms;
        add_edge(script_.events, now_, Level::active, bounces ? pressing : Bounce{});
        now_ += length;
        add_edge(script_.events, now_, Level::inactive, bounces ? releasing : Bounce{});
        now_ += bounces ? length_of(releasing) : 0s;
    }

    void remark(std::string text) { script_.events.push_back({now_, Remark{std::move(text)}}); }

    void taps() {
        const Duration first = core_.stages.empty() ? 1s : core_.stages.front().hold;
        remark("A tap: nothing happens.");
        press(std::min(tap, first / 2));
        now_ += pause_;
        if (first - too_early_by > core_.press_interval) {
            remark("Let go " + to_text(too_early_by) + " too early: a near miss.");
            press(first - too_early_by);
            now_ += pause_;
        }
    }

    /// Past the stage's hold, and short of the next one's and of what counts as stuck.
    [[nodiscard]] Duration length_for(std::size_t index) const {
        const Duration hold = core_.stages[index].hold;
        const Duration next =
            index + 1 < core_.stages.size() ? core_.stages[index + 1].hold : core_.stuck_after;
        const Duration guard =
            core_.act_on == core::ActOn::threshold ? core_.threshold_guard : Duration::zero();
        return hold + guard + std::min(longer_than_hold, (next - hold) / 2);
    }

    void stage(std::size_t index) {
        const core::Stage& stage = core_.stages[index];
        remark("Held for stage " + in_quotes(stage.name) + ", and let go.");
        press(length_for(index));
        now_ += core_.release_interval;
        if (stage.action != core::Action::announce) {
            now_ += core_.grace + going_down_takes;
            switch_on();
        }
        now_ += pause_;
    }

    /// The press that switches the board on is not a press.
    void switch_on() {
        remark("The board was off; the button switches it on.");
        script_.events.push_back({now_, ServiceDoes::boot});
        script_.events.push_back({now_, ButtonMoves{Level::active}});
        now_ += switched_on_for;
        script_.events.push_back({now_, ButtonMoves{Level::inactive}});
    }

    void calls_off() {
        const auto stage =
            std::find_if(core_.stages.begin(), core_.stages.end(), [](const core::Stage& one) {
                return one.action != core::Action::announce;
            });
        if (stage == core_.stages.end() || core_.grace < call_off_after + call_off_press) {
            return;
        }
        remark("Held for stage " + in_quotes(stage->name) + ", and called off by a short press.");
        press(length_for(static_cast<std::size_t>(stage - core_.stages.begin())));
        now_ += call_off_after;
        press(call_off_press);
        now_ += core_.grace + pause_;
    }

    void vanishes() {
        remark("The chip vanishes in the middle of a hold, and comes back: no press.");
        const Duration begin = now_;
        const Duration first = core_.stages.empty() ? 1s : core_.stages.front().hold;
        script_.events.push_back({begin, ButtonMoves{Level::active}});
        script_.events.push_back({begin + first / 2, ChipFault::vanish});
        script_.events.push_back({begin + first / 2 + 500ms, ChipFault::comes_back});
        now_ = begin + first + 1s;
        script_.events.push_back({now_, ButtonMoves{Level::inactive}});
        now_ += pause_;
    }

    void sticks() {
        remark("Something lies on the button: too long for a press.");
        press(core_.stuck_after + 1s);
        now_ += pause_;
    }

    const core::Settings& core_;
    Duration pause_;
    Duration now_{};
    PressScript script_;
};

}  // namespace

PressScript built_in_presses(const config::Settings& settings) {
    return Player(settings).play();
}

}  // namespace nightlatch::rehearsal
