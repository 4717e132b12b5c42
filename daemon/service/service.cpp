// SPDX-License-Identifier: MIT
#include "daemon/service/service.hpp"

#include "config/load.hpp"
#include "daemon/bus/bus.hpp"
#include "daemon/cues/cue_set.hpp"
#include "daemon/gpio/button_line.hpp"
#include "daemon/gpio/devices.hpp"
#include "daemon/guard/guard_file.hpp"
#include "daemon/login/login_manager.hpp"
#include "daemon/service/live_post_halt.hpp"
#include "daemon/sys/config_file.hpp"
#include "daemon/sys/event_loop.hpp"
#include "daemon/sys/journal.hpp"
#include "daemon/sys/notify.hpp"
#include "supervisor/journal_follower.hpp"
#include "supervisor/shell.hpp"
#include "supervisor/status_line.hpp"

#include <csignal>
#include <cstdlib>
#include <memory>
#include <optional>

#include <unistd.h>

namespace nightlatch::service {
namespace {

using ports::Message;
using ports::Priority;

/// RuntimeDirectory= of the unit [systemd.exec(5)].
std::string runtime_directory() {
    const char* given = std::getenv("RUNTIME_DIRECTORY");
    return given == nullptr ? "/run/nightlatch" : given;
}

std::string guard_path() {
    return runtime_directory() + "/guard";
}

login::Options login_options(const Options& options) {
    login::Options login;
    login.dry_run = options.dry_run;
    login.second_route_directory = runtime_directory();
    login.as_root = geteuid() == 0;
    return login;
}

/// The outputs of the configuration in force: a reload puts others in their place.
class Lamps final : public supervisor::Follower {
public:
    explicit Lamps(std::unique_ptr<cues::CueSet> set) : set_(std::move(set)) {}

    void happened(const supervisor::Event& event) override {
        if (const auto* shown = std::get_if<supervisor::CueShown>(&event.what)) {
            set_->show(shown->cue);
        } else if (const auto* stopping = std::get_if<supervisor::Stopping>(&event.what)) {
            set_->finish(stopping->in_shutdown ? cues::Farewell::shutdown
                                               : cues::Farewell::stopped);
        }
    }

    void replace(std::unique_ptr<cues::CueSet> set) {
        set_->finish(cues::Farewell::stopped);  // the new ones may use the same lamps
        set_ = std::move(set);
    }

private:
    std::unique_ptr<cues::CueSet> set_;
};

/// The real line, chips, lamps, login manager and loop around the App.
class Service final : public supervisor::Shell, public supervisor::Follower {
public:
    Service(Options options, std::unique_ptr<sys::EventLoop> loop, config::Settings settings);

    int run();

    void happened(const supervisor::Event& event) override;

private:
    void arm() override { timer_.arm(app().next_deadline()); }

    void wake();
    void chips_changed();
    void signal(int number);
    void reload();
    void watch_chips();
    void line_opened(const supervisor::LineOpened& opened);
    void line_closing();

    Options options_;
    std::unique_ptr<sys::EventLoop> loop_;
    sys::Journal journal_;
    supervisor::JournalFollower told_{journal_};
    supervisor::StatusLine status_;
    gpio::GpioButtonLine line_;
    Lamps lamps_;
    bus::Bus bus_;
    login::LoginManager login_;
    LivePostHalt post_halt_;
    std::optional<gpio::Devices> devices_;
    sys::Timer timer_;
    sys::FdWatch line_watch_;
    sys::FdWatch devices_watch_;
    bool ready_ = false;
    bool stopping_ = false;
};

Service::Service(Options options, std::unique_ptr<sys::EventLoop> loop, config::Settings settings)
    : options_(std::move(options)), loop_(std::move(loop)),
      status_([this](const std::string& text) {
          if (ready_) {
              sys::notify_status(text);
          }
      }),
      lamps_(std::make_unique<cues::CueSet>(*loop_, journal_, settings.feedback)),
      bus_(*loop_, journal_), login_({*loop_, bus_, *this, journal_}, login_options(options_)),
      timer_(loop_->timer([this] { wake(); })),
      line_watch_(loop_->fd_watch([this](sys::FdReady) { wake(); })),
      devices_watch_(loop_->fd_watch([this](sys::FdReady) { chips_changed(); })) {
    run_app(std::make_unique<supervisor::App>(
        std::make_shared<const config::Settings>(std::move(settings)),
        supervisor::App::Ports{line_, login_, *loop_, post_halt_},
        std::vector<supervisor::Follower*>{&lamps_, &told_, this, &status_}));
}

int Service::run() {
    for (const Outcome& outcome :
         {loop_->on_signal([this](int number) { signal(number); }), loop_->start_watchdog()}) {
        if (!outcome) {
            journal_.say(Priority::error, Message::plain, outcome.error().text);
            return 1;
        }
    }
    watch_chips();
    app().start();
    login_.start();
    bus_.start();
    arm();
    ready_ = true;
    sys::notify_ready(status_.text());
    const auto code = loop_->run();
    sys::notify_stopping("stopping");
    stopping_ = true;
    app().stop();
    if (!code) {
        journal_.say(Priority::error, Message::plain, code.error().text);
        return 1;
    }
    return *code;
}

void Service::wake() {
    app().wake();
    arm();
}

void Service::watch_chips() {
    auto devices = gpio::Devices::watch();
    if (!devices) {  // the back-off alone then finds a chip that comes
        journal_.say(Priority::warning, Message::plain, devices.error().text);
        return;
    }
    devices_ = std::move(*devices);
    if (const Outcome watched = devices_watch_.start(devices_->fd()); !watched) {
        journal_.say(Priority::warning, Message::plain, watched.error().text);
    }
}

void Service::chips_changed() {
    if (devices_->changed()) {
        app().chips_changed();
        arm();
    }
}

void Service::signal(int number) {
    if (number == SIGHUP) {
        reload();
    } else {
        loop_->exit(0);
    }
}

/// A bad file leaves the old settings in force, and says so.
void Service::reload() {
    sys::notify_reloading(loop_->now());
    auto settings = load_settings(options_, !options_.dry_run);
    if (settings) {
        lamps_.replace(std::make_unique<cues::CueSet>(*loop_, journal_, settings->feedback));
        app().reload(std::make_shared<const config::Settings>(std::move(*settings)));
        arm();
    } else {
        journal_.say(Priority::error,
                     Message::reload_failed,
                     "the configuration was not taken over: the one before stays in force");
    }
    sys::notify_ready(status_.text());
}

void Service::happened(const supervisor::Event& event) {
    if (const auto* opened = std::get_if<supervisor::LineOpened>(&event.what)) {
        line_opened(*opened);
    } else if (std::holds_alternative<supervisor::LineClosing>(event.what)) {
        line_closing();
    }
}

/// The line is watched; and the helper that runs at the very end is told which line to wait for.
void Service::line_opened(const supervisor::LineOpened& opened) {
    if (const Outcome watched = line_watch_.start(line_.fd()); !watched) {
        journal_.say(Priority::error, Message::line_fault, watched.error().text);
    }
    if (options_.dry_run) {
        return;
    }
    const guard::GuardFile file{.chip = opened.facts.chip_name,
                                .offset = opened.facts.offset,
                                .active_low = opened.request.active_low,
                                .bias = opened.request.bias,
                                .release_interval = app().settings().core.release_interval};
    const Outcome written = guard::write_guard_file(guard_path(), file);
    if (!written) {
        journal_.say(Priority::warning, Message::plain, written.error().text);
    }
}

/// Lost, the line's chip may soon be another's number. Let go at our end, it is the one to wait
/// for.
void Service::line_closing() {
    line_watch_.stop();
    if (!stopping_ && !options_.dry_run) {
        guard::remove_guard_file(guard_path());
    }
}

}  // namespace

std::optional<config::Settings> load_settings(const Options& options, bool trusted_only) {
    sys::Journal journal;
    const auto text = sys::read_config_file(
        options.config, trusted_only ? sys::TrustPolicy::root_only : sys::TrustPolicy::anybody);
    if (!text) {
        journal.say(Priority::error, Message::plain, text.error().text);
        return std::nullopt;
    }
    auto loaded = config::load(*text);
    for (const config::Diagnostic& diagnostic : loaded.diagnostics) {
        const bool error = diagnostic.severity == Severity::error;
        journal.say(error ? Priority::error : Priority::warning,
                    Message::plain,
                    config::to_text(diagnostic, options.config));
    }
    return std::move(loaded.settings);
}

int run_service(const Options& options) {
    auto settings = load_settings(options, !options.dry_run);
    if (!settings) {
        return 2;
    }
    auto loop = sys::EventLoop::open();
    if (!loop) {
        sys::Journal().say(Priority::error, Message::plain, loop.error().text);
        return 1;
    }
    return Service(options, std::move(*loop), std::move(*settings)).run();
}

}  // namespace nightlatch::service
