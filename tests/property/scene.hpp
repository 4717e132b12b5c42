// SPDX-License-Identifier: MIT
#pragma once

#include "base/ensure.hpp"
#include "support/harness.hpp"

#include <algorithm>

namespace nightlatch::test {

/// A core brought into a state by its public inputs only, and the inputs of the state table.
class Scene {
public:
    /// Two stages (3 s reboot, 6 s power-off), stuck after 30 s, 30 ms intervals, one alarm.
    static core::Settings table_settings();

    /// Brings a new core into `state`. The countdown's needs a grace; the rest has none.
    explicit Scene(core::State state, const core::Settings& settings = table_settings());
    /// Read as `first` at the start, then left to settle.
    Scene(const core::Settings& settings, Level first);

    void pass(Duration time);

    void press() { edge(Level::active); }

    void release() { edge(Level::inactive); }

    /// An edge now, then the time in which it settles.
    void edge(Level to);
    /// Away from the level and back, too short to settle; then the time in which that settles.
    void blip();
    /// Pressed, and let go for as long as the release interval: in two drop-outs, so that neither
    /// settles; then the time in which the last edge does.
    void flutter();
    /// Pressed for `time` from now, then let go and settled.
    void hold(Duration time);
    /// Feeds and wakes up.
    void give(const core::Input& input);
    /// New settings of the same line, which is read anew.
    void reload(const core::Settings& settings);
    /// Edges as a floating line makes them, for long enough to be told.
    void storm();

    /// To the last request.
    void answer(core::AnswerKind kind) { give(core::Answer{now, kind, last_ask().number}); }

    void going_down(bool active, core::GoingDownKind kind = core::GoingDownKind::unknown) {
        give(core::GoingDown{now, active, kind});
    }

    void resync() { give(core::Resync{now, level, core::ResyncWhy::gap, 0}); }

    void login_manager(bool present) { give(core::LoginManager{now, present}); }

    void call_off() { give(core::CallOff{now}); }

    /// Answers the last question; there must be one.
    void preparing(core::BeingPrepared told);

    /// An alarm's level, for long enough: at each call of the next one.
    void alarm();

    [[nodiscard]] core::State state() const { return shell.core().state(); }

    [[nodiscard]] std::size_t asks() const { return asks_in(shell.left()); }

    /// How many of what left since `from` are of this kind.
    template <class Action>
    [[nodiscard]] std::size_t count(std::size_t from = 0) const {
        std::size_t found = 0;
        for (std::size_t i = from; i < shell.left().size(); ++i) {
            found += std::holds_alternative<Action>(shell.left()[i].action) ? 1U : 0U;
        }
        return found;
    }

    /// The last of this kind that left; there must be one.
    template <class Action>
    [[nodiscard]] const Action& last() const {
        const auto& left = shell.left();
        const auto found = std::find_if(left.rbegin(), left.rend(), [](const Left& each) {
            return std::holds_alternative<Action>(each.action);
        });
        NIGHTLATCH_ENSURE(found != left.rend());
        return std::get<Action>(found->action);
    }

    [[nodiscard]] const core::Ask& last_ask() const { return last<core::Ask>(); }

    [[nodiscard]] std::size_t noted(core::Why why) const;

    Shell shell;
    Instant now;
    Level level;

private:
    Duration settling_;  ///< the longer interval
    std::size_t alarms_due_ = 0;
};

}  // namespace nightlatch::test
