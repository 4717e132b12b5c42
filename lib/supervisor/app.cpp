// SPDX-License-Identifier: MIT
#include "supervisor/app.hpp"

#include <utility>

namespace nightlatch::supervisor {
namespace {

using core::ResyncWhy;
using namespace std::chrono_literals;

/// BOOTTIME and MONOTONIC are read one after the other; less than this apart is not a suspend.
constexpr Duration suspend_noticed = 100ms;

/// How often the App goes round before it leaves the rest to the next wake-up: a storm must not
/// keep signals and the bus from being served.
constexpr int most_rounds = 16;

ports::LineRequest request_of(const config::Settings& settings,
                              core::LineIndex line = core::button_line) {
    if (line == core::button_line) {
        return {settings.button.where, settings.button.bias, settings.button.active_low};
    }
    const config::AlarmLine& alarm = settings.alarm_lines[line - 1];
    return {alarm.where, alarm.bias, alarm.active_low};
}

std::shared_ptr<const core::Settings> of_core(const SettingsInForce& settings) {
    return {settings, &settings->core};
}

}  // namespace

App::App(SettingsInForce settings,
         const Ports& ports,
         std::vector<Follower*> followers,
         const std::vector<core::KnownAlarm>& known)
    : settings_(std::move(settings)), ports_(ports), followers_(std::move(followers)),
      core_(of_core(settings_), known), line_({ports.line, ports.clock, core_, *this}),
      suspended_(ports.clock.suspended()) {
    make_alarm_lines();
}

void App::make_alarm_lines() {
    alarms_.clear();
    for (std::size_t i = 0; i < settings_->core.alarms.size(); ++i) {
        const core::LineIndex index = core::line_of_alarm(i);
        AlarmLine alarm{ports_.alarms.make(index), nullptr};
        alarm.watched = std::make_unique<WatchedLine>(
            WatchedLine::Surroundings{*alarm.port, ports_.clock, core_, *this}, index);
        alarms_.push_back(std::move(alarm));
    }
}

WatchedLine& App::line_at(core::LineIndex index) noexcept {
    return index == core::button_line ? line_ : *alarms_[index - 1].watched;
}

template <class Do>
void App::for_each_line(const Do& what) {
    what(line_);
    for (const AlarmLine& alarm : alarms_) {
        what(*alarm.watched);
    }
}

// --- what happens --------------------------------------------------------------------------------

void App::start() {
    tell(Started{settings_});
    look_at_post_halt(ports::LookAt::all);
    settle_down();
}

void App::wake() {
    catch_up();
}

void App::chips_changed() {
    catch_up();
    for_each_line([](WatchedLine& line) { line.check(); });
    // A chip that comes may be the one that the post-halt driver waited for.
    look_at_post_halt(ports::LookAt::chips);
    take_in(core::LineMayBeBack{ports_.clock.now()});
}

void App::reload(SettingsInForce settings) {
    catch_up();
    const bool same_line = request_of(*settings) == request_of(*settings_);
    settings_ = std::move(settings);
    if (!same_line) {
        line_.close();
    }
    for (const AlarmLine& alarm : alarms_) {
        alarm.watched->close();
    }
    core_.feed(core::NewSettings{ports_.clock.now(), of_core(settings_)});
    make_alarm_lines();
    any_shown_ = false;  // the outputs may be others now
    look_at_post_halt(ports::LookAt::all);
    if (line_.is_open()) {
        line_.resync(ResyncWhy::reload);
    } else {
        line_.open(request_of(*settings_), ResyncWhy::reload);
    }
    for (const AlarmLine& alarm : alarms_) {
        alarm.watched->open(request_of(*settings_, alarm.watched->index()), ResyncWhy::reload);
    }
    settle_down();
    tell(Reloaded{settings_});
}

void App::stop() {
    const core::CueName cue = core_.cue().name;
    for_each_line([](WatchedLine& line) { line.close(); });
    tell(Stopping{cue == core::CueName::leaving});
}

bool App::may_send(std::uint32_t request) {
    catch_up();
    return core_.may_send(request);
}

void App::answered(std::uint32_t request, core::AnswerKind kind, const ports::Said& said) {
    if (kind != core::AnswerKind::sent) {
        said_.emplace_back(++last_said_, said);
    }
    take_in(core::Answer{ports_.clock.now(), kind, request, last_said_});
}

void App::going_down(bool active, core::GoingDownKind kind) {
    take_in(core::GoingDown{ports_.clock.now(), active, kind});
}

void App::preparing(std::uint32_t question, core::BeingPrepared told) {
    take_in(core::Preparing{ports_.clock.now(), question, told});
}

void App::login_manager(bool present) {
    take_in(core::LoginManager{ports_.clock.now(), present});
}

void App::call_off() {
    take_in(core::CallOff{ports_.clock.now()});
}

void App::resumed() {
    notice_suspend();
    resync_all();
    settle_down();
}

/// What was due before it comes first.
void App::take_in(const core::Input& input) {
    catch_up();
    core_.feed(input);
    settle_down();
}

// --- one wake-up ---------------------------------------------------------------------------------

/// Whatever comes next: the press that woke the board is none, and what was due is due.
void App::catch_up() {
    notice_suspend();
    settle_down();
}

/// Reads the clock, drains and feeds; while a deadline is due reads the level and drains again
/// before the core may pass it; does what the core wants; shows what there is to show.
void App::settle_down() {
    for (int round = 0; round < most_rounds; ++round) {
        const Instant now = ports_.clock.now();
        const bool quiet = drain_all();
        read_levels(now);
        if (line_.retry_at() == never) {
            core_.advance(now);
        }
        perform_actions();
        if (quiet && next_deadline() > now) {
            break;
        }
    }
    tell_notes();
    show_cue();
    if (std::exchange(look_due_, false)) {
        look_at_post_halt(ports::LookAt::line);
    }
}

void App::notice_suspend() {
    const Duration suspended = ports_.clock.suspended();
    const bool slept = suspended - suspended_ > suspend_noticed;
    suspended_ = suspended;
    if (slept) {
        tell(Suspended{});
        resync_all();
    }
}

void App::resync_all() {
    for_each_line([](WatchedLine& line) {
        if (line.is_open()) {
            line.resync(ResyncWhy::resumed);
        }
    });
}

bool App::drain_all() {
    bool quiet = true;
    for_each_line([&quiet](WatchedLine& line) { quiet = line.drain() && quiet; });
    return quiet;
}

/// Of each line of which something is due.
void App::read_levels(Instant now) {
    for_each_line([this, now](WatchedLine& line) {
        if (core_.read_due(line.index()) <= now || line.retry_at() <= now) {
            line.read_level();
        }
    });
}

// --- what the line tells -------------------------------------------------------------------------

void App::line_opened(core::LineIndex line, const ports::LineFacts& facts, bool after_trouble) {
    const bool on_trial = core_.suspects(line);
    tell(LineOpened{request_of(*settings_, line), facts, after_trouble, on_trial, line});
}

void App::line_closing(core::LineIndex line) {
    tell(LineClosing{line});
}

void App::line_trouble(core::LineIndex line, const Error& error, bool news) {
    tell(LineLost{request_of(*settings_, line).where, error, news, line});
}

void App::edges_dropped(core::LineIndex line) {
    tell(EdgesDropped{request_of(*settings_, line).where});
}

/// A storm or an edge out of order ends the reading.
void App::batch_fed() {
    perform_actions();
}

// --- what the core wants done --------------------------------------------------------------------

void App::perform_actions() {
    while (perform_some()) {
    }
}

/// What was decided is done first, and told afterwards: why, then what. False when nothing was.
bool App::perform_some() {
    const std::vector<core::ActionOut> wanted = take_actions();
    tell_notes();
    for (const core::ActionOut& action : wanted) {
        std::visit([this](const auto& each) { perform(each); }, action);
    }
    return !wanted.empty();
}

std::vector<core::ActionOut> App::take_actions() {
    std::vector<core::ActionOut> wanted;
    while (const auto action = core_.take_action()) {
        ask_system(*action);
        wanted.push_back(*action);
    }
    return wanted;
}

void App::ask_system(const core::ActionOut& action) {
    if (const auto* ask = std::get_if<core::Ask>(&action)) {
        ports_.power.ask(ask->number, ask->action, ask->inhibitors);
    } else if (const auto* withdraw = std::get_if<core::Withdraw>(&action)) {
        ports_.power.withdraw(withdraw->number);
    }
}

void App::perform(const core::Ask& ask) {
    failure_.clear();
    tell(Asked{ask.action, ask.inhibitors, cause_of(ask)});
    if (ask.action == core::Action::power_off && stays_on(*post_halt_) &&
        settings_->core.without_post_halt == core::WithoutPostHalt::warn) {
        tell(SupplyStaysOn{post_halt_->reason});
    }
}

void App::perform(const core::Withdraw&) {}  // ask_system() did

void App::perform(const core::AskPreparing& question) {
    ports_.power.ask_preparing(question.question);
}

void App::perform(const core::CalledOff& called_off) {
    tell(CallOffAnswered{called_off.done});
}

void App::perform(const core::Publish& publish) {
    const bool by_stage = publish.stage < settings_->core.stages.size();
    tell(Announced{by_stage ? settings_->core.stages[publish.stage].name
                            : settings_->core.alarms[publish.alarm].name});
}

void App::perform(const core::OpenLine& open) {
    WatchedLine& line = line_at(open.line);
    if (line.is_open()) {
        return;
    }
    line.open(request_of(*settings_, open.line), ResyncWhy::reopened);
}

void App::perform(const core::CloseLine& close) {
    line_at(close.line).close();
}

void App::perform(const core::RunResync& run) {
    if (line_at(run.line).is_open()) {
        line_at(run.line).resync(run.why);
    }
}

void App::perform(const core::KeepAlarm& keep) {
    tell(AlarmKept{{settings_->core.alarms[keep.alarm].name, keep.ignored}});
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
