// SPDX-License-Identifier: MIT
#include "daemon/service/simulation.hpp"

#include "base/text.hpp"
#include "daemon/bus/bus.hpp"
#include "daemon/bus/object.hpp"
#include "daemon/login/login_manager.hpp"
#include "daemon/service/commentary.hpp"
#include "daemon/sys/event_loop.hpp"
#include "rehearsal/scripted_post_halt.hpp"
#include "rehearsal/simulated_run.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <memory>
#include <optional>
#include <string>

#include <unistd.h>

namespace nightlatch::service {
namespace {

using namespace std::chrono_literals;

/// What is not an event of the run is told beside its lines.
class Aside final : public ports::Journal {
public:
    [[nodiscard]] bool wants(ports::Priority priority) const noexcept override {
        return priority != ports::Priority::debug;
    }

    using ports::Journal::say;

    void say(ports::Priority /*priority*/,
             ports::Message /*message*/,
             const std::string& text,
             std::span<const ports::Field> /*fields*/) override {
        std::printf("(%s)\n", safe(text).c_str());
        std::fflush(stdout);
    }
};

class Simulation {
public:
    Simulation(const Options& options,
               std::unique_ptr<sys::EventLoop> loop,
               config::Settings settings,
               rehearsal::PressScript script);

    int run();

private:
    void turn();
    void arm();
    void typed();
    void type_line(std::string_view text);

    std::unique_ptr<sys::EventLoop> loop_;
    bool by_hand_;
    bool dry_run_;
    Commentary commentary_;
    rehearsal::ScriptedPostHalt post_halt_;
    bool asks_for_real_;  ///< the script says nothing of the login manager
    bool passes_locks_;   ///< by its configuration, which is never read again
    Aside aside_;
    bus::Bus bus_;
    bus::Object object_;
    rehearsal::SimulatedRun run_;
    std::optional<login::LoginManager> login_;
    sys::Timer timer_;
    sys::FdWatch input_;
    std::string unread_;   ///< typed, without its newline yet
    Instant end_ = never;  ///< of the run; open while lines may still be typed
};

login::Options simulated_login(const Options& options, bool passes_locks) {
    login::Options login;
    login.passes_locks = [passes_locks] { return passes_locks; };
    login.dry_run = options.dry_run;
    login.as_root = geteuid() == 0;
    return login;
}

Simulation::Simulation(const Options& options,
                       std::unique_ptr<sys::EventLoop> loop,
                       config::Settings settings,
                       rehearsal::PressScript script)
    : loop_(std::move(loop)), by_hand_(options.simulated == "-"), dry_run_(options.dry_run),
      commentary_(stdout, *loop_), post_halt_(script.post_halt),
      asks_for_real_(!rehearsal::scripts_the_login_manager(script)),
      passes_locks_(core::passes_locks(settings.core)),
      bus_(*loop_, asks_for_real_ ? static_cast<ports::Journal&>(commentary_) : aside_),
      object_(
          {*loop_, bus_, aside_, [this] { return run_.settled(); }, [this] { run_.call_off(); }},
          {options.config, dry_run_ || !asks_for_real_, NIGHTLATCH_VERSION}),
      run_(std::make_shared<const config::Settings>(std::move(settings)),
           std::move(script),
           {*loop_, post_halt_, commentary_, [this] { arm(); }, {&object_}}),
      timer_(loop_->timer([this] { turn(); })),
      input_(loop_->fd_watch([this](sys::FdReady) { typed(); })) {
    if (asks_for_real_) {
        login_.emplace(login::LoginManager::Surroundings{*loop_, bus_, run_, commentary_},
                       simulated_login(options, passes_locks_));
        run_.ask_instead(*login_);
    }
}

int Simulation::run() {
    const Outcome signals = loop_->on_signal([this](int) { loop_->exit(0); });
    if (!signals) {
        commentary_.say(ports::Priority::error, ports::Message::plain, signals.error().text);
        return 1;
    }
    rehearsal::SimulatedLine& line = run_.line();
    if (line.button() == Level::active) {
        commentary_.step(line.start(), rehearsal::Remark{"The button is pressed from the start."});
    }
    run_.start();
    if (login_) {
        login_->start();
    }
    bus_.start();
    end_ = by_hand_ ? never : line.end();
    if (by_hand_) {
        if (isatty(STDIN_FILENO) == 1) {
            std::printf(
                "Type \"press 3.2 s\" to press and let go, \"help\" for more, \"quit\" to end.\n");
            std::fflush(stdout);
        }
        const Outcome watched = input_.start(STDIN_FILENO);
        if (!watched) {
            commentary_.say(ports::Priority::error, ports::Message::plain, watched.error().text);
            return 1;
        }
    }
    arm();
    const auto code = loop_->run();
    run_.stop();
    commentary_.over(!asks_for_real_ ? AskedOf::script
                     : dry_run_      ? AskedOf::nobody
                                     : AskedOf::machine);
    return code ? *code : 1;
}

void Simulation::turn() {
    run_.turn();
    if (loop_->now() >= end_ && run_.played()) {
        loop_->exit(0);
    }
    arm();
}

void Simulation::arm() {
    if (by_hand_ && end_ != never && !run_.played()) {
        end_ = run_.line().next_step() + 1s;
    }
    timer_.arm(std::min(run_.next_due(), run_.played() ? end_ : never));
}

void Simulation::typed() {
    std::array<char, 512> bytes{};
    const ssize_t count = read(STDIN_FILENO, bytes.data(), bytes.size());
    if (count <= 0) {  // nobody types any more: what was typed is still played
        input_.stop();
        end_ = loop_->now() + 1s;
        arm();
        return;
    }
    unread_.append(bytes.data(), static_cast<std::size_t>(count));
    for (auto end = unread_.find('\n'); end != std::string::npos; end = unread_.find('\n')) {
        type_line(std::string_view(unread_).substr(0, end));
        unread_.erase(0, end + 1);
    }
    arm();
}

void Simulation::type_line(std::string_view text) {
    run_.turn();  // of lines that came at once each finds the button as the one before left it
    const auto typed = rehearsal::parse_press_line(text, run_.line().button());
    if (!typed) {
        std::printf("%s\n", typed.error().c_str());
    } else if (typed->kind == rehearsal::TypedLine::Kind::quit) {
        loop_->exit(0);
    } else if (typed->kind == rehearsal::TypedLine::Kind::help) {
        const std::string_view help = rehearsal::press_line_help();
        std::printf("%.*s", static_cast<int>(help.size()), help.data());
    } else {
        run_.line().add(typed->events);
    }
    std::fflush(stdout);
}

}  // namespace

int run_simulation(const Options& options,
                   config::Settings settings,
                   rehearsal::PressScript script) {
    auto loop = sys::EventLoop::open();
    if (!loop) {
        std::fprintf(stderr, "nightlatchd: %s\n", loop.error().text.c_str());
        return 1;
    }
    return Simulation(options, std::move(*loop), std::move(settings), std::move(script)).run();
}

}  // namespace nightlatch::service
