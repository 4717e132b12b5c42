// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "core/core.hpp"
#include "supervisor/event.hpp"
#include "supervisor/ports/clock.hpp"
#include "supervisor/ports/post_halt_check.hpp"
#include "supervisor/ports/power.hpp"
#include "supervisor/watched_line.hpp"

#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::supervisor {

/// Kept once: the core, the App and what is around it refer to the same ones. A reload puts others
/// in their place.
using SettingsInForce = std::shared_ptr<const config::Settings>;

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
    };

    /// The followers are told in the order given; whatever shows the person something comes first.
    App(SettingsInForce settings, const Ports& ports, std::vector<Follower*> followers);

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

    void answered(core::AnswerKind kind, const std::string& text) override;
    void going_down(bool active, core::GoingDownKind kind) override;
    void login_manager(bool present, bool preparing) override;
    void resumed() override;

private:
    void take_in(const core::Input& input);
    void settle_down();
    void notice_suspend();
    void line_opened(const ports::LineFacts& facts, bool after_trouble) override;
    void line_closing() override;
    void line_trouble(const Error& error, bool news) override;
    void edges_dropped() override;
    void batch_fed() override;
    void perform_actions();
    void perform(const core::Ask& ask);
    void perform(const core::Publish& publish);
    void perform(const core::OpenLine& open);
    void perform(const core::CloseLine& close);
    void perform(const core::RunResync& run);
    void perform(const core::LookAtPostHalt& look);
    void perform(const core::DelayLock& lock);
    void tell(Happening what);
    void tell_notes();
    [[nodiscard]] Happening happening_of(const core::Note& note) const;
    [[nodiscard]] Cause cause_of(const core::Ask& ask) const;
    void show_cue();
    void look_at_post_halt();

    SettingsInForce settings_;
    Ports ports_;
    std::vector<Follower*> followers_;
    core::Core core_;
    WatchedLine line_;
    core::ResyncWhy open_why_ = core::ResyncWhy::start;
    Duration suspended_{};
    std::string answer_text_;  ///< what the login manager said last
    core::Cue shown_{};
    bool any_shown_ = false;
    std::optional<ports::PostHaltReport> post_halt_;  ///< as it was told last
    bool look_due_ = false;
};

}  // namespace nightlatch::supervisor
