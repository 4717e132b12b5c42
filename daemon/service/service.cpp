// SPDX-License-Identifier: MIT
#include "daemon/service/service.hpp"

#include "daemon/bus/bus.hpp"
#include "daemon/bus/object.hpp"
#include "daemon/cues/cue_set.hpp"
#include "daemon/gpio/button_line.hpp"
#include "daemon/guard/guard_keeper.hpp"
#include "daemon/login/login_manager.hpp"
#include "daemon/service/alarm_lines.hpp"
#include "daemon/service/alarm_memory.hpp"
#include "daemon/service/bad_configuration.hpp"
#include "daemon/service/config_on_disk.hpp"
#include "daemon/service/live_post_halt.hpp"
#include "daemon/service/run_summary.hpp"
#include "daemon/sys/folder_watch.hpp"
#include "daemon/sys/notify.hpp"
#include "supervisor/journal_follower.hpp"
#include "supervisor/shell.hpp"
#include "supervisor/status_line.hpp"

#include <csignal>
#include <cstdlib>
#include <functional>
#include <memory>
#include <optional>
#include <utility>

#include <unistd.h>

namespace nightlatch::service {
namespace {

using ports::Message;
using ports::Priority;

/// Until READY is said again to a service manager that did not take it.
constexpr Duration ready_pause = std::chrono::seconds(1);

/// RuntimeDirectory= of the unit [systemd.exec(5)].
std::string runtime_directory() {
    const char* given = std::getenv("RUNTIME_DIRECTORY");
    return given == nullptr ? "/run/nightlatch" : given;
}

/// A person who tries things out needs no root.
sys::TrustPolicy trust_in(const Options& options, const World& world) {
    return options.dry_run ? sys::TrustPolicy::anybody : world.trust;
}

login::Options login_options(const Options& options, std::function<bool()> passes_locks) {
    login::Options login;
    login.dry_run = options.dry_run;
    login.second_route_directory = runtime_directory();
    login.as_root = geteuid() == 0;
    login.passes_locks = std::move(passes_locks);
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
    Service(const Options& options,
            const World& world,
            sys::EventLoop& loop,
            ports::Journal& journal);

    int run(config::Settings settings);

    void happened(const supervisor::Event& event) override;

private:
    void arm() override { timer_.arm(app().next_deadline()); }

    void start(supervisor::SettingsInForce settings);
    void wake();
    void chips_changed();
    void signal(int number);
    void reload();
    void watch_chips();
    void watch_config();
    void config_changed();
    void say_ready();
    void say_status();
    [[nodiscard]] std::unique_ptr<cues::CueSet> outputs(const config::Settings& settings);

    const Options& options_;
    const World& world_;
    sys::EventLoop& loop_;
    ports::Journal& journal_;
    supervisor::JournalFollower told_{journal_};
    supervisor::StatusLine status_;
    sys::Deferred saying_status_;  ///< whoever follows the button comes first
    ConfigOnDisk config_;
    gpio::GpioButtonLine line_;
    AlarmLines alarms_;
    std::optional<Lamps> lamps_;
    std::optional<guard::GuardKeeper> guard_;
    std::optional<AlarmMemory> alarm_memory_;
    std::optional<RunSummary> run_summary_;
    bus::Bus bus_;
    login::LoginManager login_;
    bus::Object object_;
    LivePostHalt post_halt_;
    std::optional<sys::FolderWatch> chips_;
    sys::Timer timer_;
    sys::Timer ready_again_;
    sys::FdWatch line_watch_;
    sys::FdWatch chips_watch_;
    bool ready_ = false;
};

Service::Service(const Options& options,
                 const World& world,
                 sys::EventLoop& loop,
                 ports::Journal& journal)
    : options_(options), world_(world), loop_(loop), journal_(journal),
      status_([this](const std::string&) { saying_status_.post(); }),
      saying_status_(loop.deferred_until_idle([this] { say_status(); })),
      config_(loop, options.config, trust_in(options, world), [this] { config_changed(); }),
      line_(world.gpio), alarms_(loop, journal, world.gpio, [this] { wake(); }),
      bus_(loop, journal_),
      login_({loop, bus_, *this, journal_},
             login_options(options_, [this] { return passes_locks(app().settings().core); })),
      object_({loop, bus_, journal_, [this] { return app().settled(); }, [this] { call_off(); }},
              {options.config, options.dry_run, NIGHTLATCH_VERSION}),
      timer_(loop.timer([this] { wake(); })), ready_again_(loop.timer([this] { say_ready(); })),
      line_watch_(loop.fd_watch([this](sys::FdReady) { wake(); })),
      chips_watch_(loop.fd_watch([this](sys::FdReady) { chips_changed(); })) {}

std::unique_ptr<cues::CueSet> Service::outputs(const config::Settings& settings) {
    return std::make_unique<cues::CueSet>(loop_, journal_, settings.feedback, world_.leds);
}

void Service::start(supervisor::SettingsInForce settings) {
    config_.in_force(settings);
    lamps_.emplace(outputs(*settings));
    std::vector<supervisor::Follower*> followers{
        &*lamps_, this, &alarms_, &told_, &status_, &object_};
    std::vector<core::KnownAlarm> known;
    if (!options_.dry_run) {
        guard_.emplace(runtime_directory() + "/guard", journal_, settings);
        followers.push_back(&*guard_);
        known = alarm_memory_.emplace(runtime_directory() + "/alarms", journal_).read();
        followers.push_back(&*alarm_memory_);
        followers.push_back(&run_summary_.emplace(loop_, runtime_directory() + "/run", journal_));
    }
    run_app(std::make_unique<supervisor::App>(
        std::move(settings),
        supervisor::App::Ports{line_, login_, loop_, post_halt_, alarms_},
        std::move(followers),
        known));
}

int Service::run(config::Settings settings) {
    start(std::make_shared<const config::Settings>(std::move(settings)));
    for (const Outcome& outcome :
         {loop_.on_signal([this](int number) { signal(number); }), loop_.start_watchdog()}) {
        if (!outcome) {
            journal_.say(Priority::error, Message::plain, outcome.error().text);
            return 1;
        }
    }
    watch_chips();
    watch_config();
    app().start();
    login_.start();
    bus_.start();
    arm();
    ready_ = true;
    say_ready();
    if (world_.beside) {
        world_.beside(loop_);
    }
    const auto code = loop_.run();
    sys::notify_stopping("stopping");
    if (guard_) {
        guard_->leave_standing();
    }
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
    auto chips =
        sys::FolderWatch::open(world_.gpio.dev, "gpiochip", sys::FolderWatch::News::entries);
    if (!chips) {  // the back-off alone then finds a chip that comes
        journal_.say(Priority::warning, Message::plain, chips.error().text);
        return;
    }
    chips_.emplace(std::move(*chips));
    if (const Outcome watched = chips_watch_.start(chips_->fd()); !watched) {
        journal_.say(Priority::warning, Message::plain, watched.error().text);
    }
}

void Service::chips_changed() {
    if (chips_->changed()) {
        app().chips_changed();
        arm();
    }
}

void Service::watch_config() {
    if (const Outcome watched = config_.watch(); !watched) {
        journal_.say(Priority::warning, Message::plain, watched.error().text);
    }
}

void Service::signal(int number) {
    if (number == SIGHUP) {
        reload();
    } else {
        loop_.exit(0);
    }
}

/// A bad file leaves the old settings in force, and says so.
void Service::reload() {
    sys::notify_reloading(loop_.now());
    watch_config();
    ConfigRead read = read_config(options_.config, trust_in(options_, world_));
    config_.take(read);
    if (read.settings) {
        const auto settings = std::make_shared<const config::Settings>(std::move(*read.settings));
        lamps_->replace(outputs(*settings));
        if (guard_) {
            guard_->take(settings);
        }
        app().reload(settings);
        arm();
        config_.in_force(settings);
    }
    tell(journal_, read);
    if (!config_.trouble().empty()) {
        journal_.say(Priority::error,
                     Message::reload_failed,
                     "the configuration was not taken over: the one before stays in force");
    }
    config_changed();
    say_ready();
}

void Service::config_changed() {
    object_.on_disk(config_.state(), config_.trouble());
    status_.on_disk(config_.trouble());
}

/// Said again until the service manager has taken it: without it we would be killed.
void Service::say_ready() {
    saying_status_.cancel();  // it has the line, too
    ready_again_.arm(sys::notify_ready(status_.text()) ? never : loop_.now() + ready_pause);
}

void Service::say_status() {
    if (ready_) {
        sys::notify_status(status_.text());
    }
}

void Service::happened(const supervisor::Event& event) {
    if (const auto* opened = std::get_if<supervisor::LineOpened>(&event.what)) {
        if (opened->line != core::button_line) {
            return;  // AlarmLines'
        }
        if (const Outcome watched = line_watch_.start(line_.fd()); !watched) {
            journal_.say(Priority::error, Message::line_fault, watched.error().text);
        }
    } else if (const auto* closing = std::get_if<supervisor::LineClosing>(&event.what)) {
        if (closing->line == core::button_line) {
            line_watch_.stop();
        }
    }
}

}  // namespace

int run_service(const Options& options, const World& world) {
    sys::Journal journal(Priority::info, world.journal_socket);
    ConfigRead read = read_config(options.config, trust_in(options, world));
    tell(journal, read);
    if (!read.settings) {
        if (!options.dry_run) {
            show_bad_configuration(world, journal, read.feedback);
        }
        return read.may_pass() ? 1 : 2;
    }
    const auto loop = sys::EventLoop::open();
    if (!loop) {
        journal.say(Priority::error, Message::plain, loop.error().text);
        return 1;
    }
    return Service(options, world, **loop, journal).run(std::move(*read.settings));
}

}  // namespace nightlatch::service
