// SPDX-License-Identifier: MIT
#include "supervisor/app.hpp"

#include <utility>

namespace nightlatch::supervisor {
namespace {

using core::ResyncWhy;
using namespace std::chrono_literals;

/// BOOTTIME and MONOTONIC are read one after the other; less than this apart is no suspend.
constexpr Duration suspend_noticed = 100ms;

/// How often the App goes round before it leaves the rest to the next wake-up: a storm must not
/// keep signals and the bus from being served.
constexpr int most_rounds = 16;

ports::LineRequest request_of(const config::Settings& settings) {
    return {settings.button.where, settings.button.bias, settings.button.active_low};
}

std::shared_ptr<const core::Settings> of_core(const SettingsInForce& settings) {
    return {settings, &settings->core};
}

}  // namespace

App::App(SettingsInForce settings, const Ports& ports, std::vector<Follower*> followers)
    : settings_(std::move(settings)), ports_(ports), followers_(std::move(followers)),
      core_(of_core(settings_)), line_({ports.line, ports.clock, core_, *this}),
      suspended_(ports.clock.suspended()) {}

// --- what happens --------------------------------------------------------------------------------

void App::start() {
    tell(Started{});
    look_at_post_halt();
    settle_down();
}

void App::wake() {
    notice_suspend();
    settle_down();
}

void App::chips_changed() {
    line_.check();
    look_at_post_halt();  // a chip that comes may be the one that the post-halt driver waited for
    take_in(core::LineMayBeBack{ports_.clock.now()});
}

void App::reload(SettingsInForce settings) {
    const bool same_line = request_of(*settings) == request_of(*settings_);
    settings_ = std::move(settings);
    if (!same_line) {
        line_.close();
    }
    core_.feed(core::NewSettings{ports_.clock.now(), of_core(settings_)});
    any_shown_ = false;  // the outputs may be others now
    look_at_post_halt();
    if (line_.is_open()) {
        line_.resync(ResyncWhy::reload);
    } else {
        line_.open(request_of(*settings_), ResyncWhy::reload);
    }
    settle_down();
    tell(Reloaded{});
}

void App::stop() {
    const core::CueName cue = core_.cue().name;
    line_.close();
    tell(Stopping{cue == core::CueName::leaving});
}

void App::answered(core::AnswerKind kind, const std::string& text) {
    answer_text_ = text;
    take_in(core::Answer{ports_.clock.now(), kind});
}

void App::going_down(bool active, core::GoingDownKind kind) {
    take_in(core::GoingDown{ports_.clock.now(), active, kind});
}

void App::login_manager(bool present, bool preparing) {
    take_in(core::LoginManager{ports_.clock.now(), present, preparing});
}

void App::resumed() {
    if (line_.is_open()) {
        line_.resync(ResyncWhy::resumed);
    }
    settle_down();
}

void App::take_in(const core::Input& input) {
    line_.drain();
    core_.feed(input);
    settle_down();
}

// --- one wake-up ---------------------------------------------------------------------------------

/// Reads the clock, drains and feeds; while a deadline is due reads the level and drains again
/// before the core may pass it; does what the core wants; shows what there is to show.
void App::settle_down() {
    for (int round = 0; round < most_rounds; ++round) {
        const Instant now = ports_.clock.now();
        const bool quiet = line_.drain();
        if (core_.next_deadline() <= now || line_.retry_at() <= now) {
            line_.read_level();
        }
        if (line_.retry_at() == never) {
            core_.advance(now);
        }
        tell_notes();  // why, before what
        perform_actions();
        if (quiet && next_deadline() > now) {
            break;
        }
    }
    tell_notes();
    show_cue();
    if (std::exchange(look_due_, false)) {
        look_at_post_halt();
    }
}

void App::notice_suspend() {
    const Duration suspended = ports_.clock.suspended();
    const bool slept = suspended - suspended_ > suspend_noticed;
    suspended_ = suspended;
    if (slept && line_.is_open()) {
        tell(Suspended{});
        line_.resync(ResyncWhy::resumed);
    }
}

// --- what the line tells -------------------------------------------------------------------------

void App::line_opened(const ports::LineFacts& facts, bool after_trouble) {
    tell(LineOpened{request_of(*settings_), facts, after_trouble});
}

void App::line_closing() {
    tell(LineClosing{});
}

void App::line_trouble(const Error& error, bool news) {
    tell(LineLost{settings_->button.where, error, news});
}

void App::edges_dropped() {
    tell(EdgesDropped{});
}

/// A storm or an edge out of order ends the reading.
void App::batch_fed() {
    perform_actions();
}

// --- what the core wants done --------------------------------------------------------------------

void App::perform_actions() {
    while (const auto action = core_.take_action()) {
        std::visit([this](const auto& wanted) { perform(wanted); }, *action);
    }
}

void App::perform(const core::Ask& ask) {
    answer_text_.clear();
    ports_.power.ask(ask.action, ask.inhibitors);
    tell(Asked{ask.action, ask.inhibitors, cause_of(ask)});
    if (ask.action == core::Action::power_off && stays_on(*post_halt_) &&
        settings_->core.without_post_halt == core::WithoutPostHalt::warn) {
        tell(SupplyStaysOn{post_halt_->reason});
    }
}

void App::perform(const core::Publish& publish) {
    const bool by_stage = publish.stage < settings_->core.stages.size();
    tell(Announced{by_stage ? settings_->core.stages[publish.stage].name
                            : settings_->core.alarms[publish.alarm].name});
}

void App::perform(const core::OpenLine&) {
    if (!line_.is_open()) {
        line_.open(request_of(*settings_), std::exchange(open_why_, ResyncWhy::reopened));
    }
}

void App::perform(const core::CloseLine&) {
    line_.close();
}

void App::perform(const core::RunResync& run) {
    if (line_.is_open()) {
        line_.resync(run.why);
    }
}

/// After the person has been shown the cue: a look takes a while. The stamps of what comes
/// meanwhile are the kernel's, so nothing is missed or misjudged.
void App::perform(const core::LookAtPostHalt&) {
    look_due_ = true;
}

void App::perform(const core::DelayLock& lock) {
    ports_.power.hold_delay(lock.hold);
}

}  // namespace nightlatch::supervisor
