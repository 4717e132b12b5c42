// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "core/core.hpp"
#include "supervisor/event.hpp"
#include "supervisor/ports/clock.hpp"
#include "supervisor/ports/more_lines.hpp"
#include "supervisor/ports/post_halt_check.hpp"
#include "supervisor/ports/power.hpp"
#include "supervisor/watched_line.hpp"

#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace nightlatch::supervisor {

/// The wiring of the core to its ports: the same in the service, in a simulated run and in tests.
/// It has no loop: whoever has one calls wake() when the line is readable or next_deadline() has
/// come, and the other functions when what they are named for happens.
class App final : public ports::PowerListener, WatchedLine::Owner {
public:
    struct Ports {
        ports::ButtonLine& line;
        ports::Power& power;
        const ports::Clock& clock;
        ports::PostHaltCheck& post_halt;
        ports::MoreLines& alarms;
    };

    /// The followers are told in the order given; whatever shows the person something comes first.
    /// `known`: the alarms that were looked at in this boot before.
    App(SettingsInForce settings,
        const Ports& ports,
        std::vector<Follower*> followers,
        const std::vector<core::KnownAlarm>& known = {});

    void start();
    void wake();
    void chips_changed();
    void reload(SettingsInForce settings);
    void stop();

    [[nodiscard]] Instant next_deadline() const noexcept {
        return line_.retry_at() == never ? core_.next_deadline() : line_.retry_at();
    }

    [[nodiscard]] core::Cue cue() const noexcept { return core_.cue(); }

    [[nodiscard]] const config::Settings& settings() const noexcept { return *settings_; }

    /// The button as debounced; nothing while it is not known.
    [[nodiscard]] std::optional<Level> settled() const noexcept { return core_.settled(); }

    bool may_send(std::uint32_t request) override;
    void answered(std::uint32_t request, core::AnswerKind kind, const ports::Said& said) override;
    void going_down(bool active, core::GoingDownKind kind) override;
    void preparing(std::uint32_t question, core::BeingPrepared told) override;
    void login_manager(bool present) override;
    void resumed() override;

    /// Calls the countdown off; followers are told whether there was anything to call off.
    void call_off();

private:
    void take_in(const core::Input& input);
    void catch_up();
    void settle_down();
    void notice_suspend();
    void line_opened(core::LineIndex line,
                     const ports::LineFacts& facts,
                     bool after_trouble) override;
    void line_closing(core::LineIndex line) override;
    void line_trouble(core::LineIndex line, const Error& error, bool news) override;
    void edges_dropped(core::LineIndex line) override;
    void batch_fed() override;
    void make_alarm_lines();
    [[nodiscard]] WatchedLine& line_at(core::LineIndex index) noexcept;
    template <class Do>
    void for_each_line(const Do& what);
    void resync_all();
    bool drain_all();
    void read_levels(Instant now);
    void perform_actions();
    bool perform_some();
    std::vector<core::ActionOut> take_actions();
    void ask_system(const core::ActionOut& action);
    void perform(const core::Ask& ask);
    void perform(const core::Withdraw& withdraw);
    void perform(const core::AskPreparing& question);
    void perform(const core::CalledOff& called_off);
    void perform(const core::Publish& publish);
    void perform(const core::OpenLine& open);
    void perform(const core::CloseLine& close);
    void perform(const core::RunResync& run);
    void perform(const core::KeepAlarm& keep);
    void perform(const core::LookAtPostHalt& look);
    void perform(const core::DelayLock& lock);
    void tell(Happening what);
    void tell_notes();
    [[nodiscard]] Happening happening_of(const core::Note& note);
    [[nodiscard]] Happening answered_by(const core::Note& note);
    [[nodiscard]] Happening went_down(const core::Note& note);
    [[nodiscard]] const lines::LineName& where(core::LineIndex line) const;
    [[nodiscard]] Cause cause_of(const core::Ask& ask) const;
    void show_cue();
    void look_at_post_halt(ports::LookAt what);

    SettingsInForce settings_;
    Ports ports_;
    std::vector<Follower*> followers_;

    /// An alarm's line and what watches it.
    struct AlarmLine {
        std::unique_ptr<ports::ButtonLine> port;
        std::unique_ptr<WatchedLine> watched;
    };

    core::Core core_;
    WatchedLine line_;
    std::vector<AlarmLine> alarms_;  ///< one for each of the settings'
    Duration suspended_{};
    /// What was said with an answer that the core has not told of yet, by number.
    std::vector<std::pair<std::uint32_t, ports::Said>> said_;
    std::uint32_t last_said_ = 0;
    std::string failure_;  ///< why the latest request failed, while a shutdown is under way
    core::Cue shown_{};
    bool any_shown_ = false;
    std::optional<ports::PostHaltReport> post_halt_;  ///< as it was told last
    bool look_due_ = false;
};

}  // namespace nightlatch::supervisor
