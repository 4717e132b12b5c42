// SPDX-License-Identifier: MIT
#include "daemon/service/simulation.hpp"

#include "daemon/login/login_manager.hpp"
#include "daemon/service/commentary.hpp"
#include "daemon/service/shell.hpp"
#include "daemon/service/simulated_line.hpp"
#include "daemon/sys/event_loop.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <memory>
#include <string>

#include <unistd.h>

namespace nightlatch::service {
namespace {

using namespace std::chrono_literals;

/// A chip that is no chip has no post-halt line beside it.
struct NothingToLookAt final : ports::PostHaltCheck {
    ports::PostHaltReport look(const config::Settings&) override {
        return {core::Verdict::cannot_tell, "the chip is simulated"};
    }
};

class Simulation final : public Shell {
public:
    Simulation(const Options& options,
               std::unique_ptr<sys::EventLoop> loop,
               config::Settings settings,
               config::PressScript script);

    int run();

private:
    void turn();
    void arm() override;
    void typed();
    void type_line(std::string_view text);

    std::unique_ptr<sys::EventLoop> loop_;
    bool by_hand_;
    bool dry_run_;
    Commentary commentary_;
    SimulatedLine line_;
    login::LoginManager login_;
    NothingToLookAt post_halt_;
    sys::Timer timer_;
    sys::FdWatch input_;
    std::string unread_;   ///< typed, without its newline yet
    Instant end_ = never;  ///< of the run; open while lines may still be typed
};

login::Options login_options(const Options& options) {
    login::Options login;
    login.dry_run = options.dry_run;
    login.as_root = geteuid() == 0;
    return login;
}

Simulation::Simulation(const Options& options,
                       std::unique_ptr<sys::EventLoop> loop,
                       config::Settings settings,
                       config::PressScript script)
    : loop_(std::move(loop)), by_hand_(options.simulated == "-"), dry_run_(options.dry_run),
      commentary_(stdout, *loop_),
      line_(std::move(script),
            *loop_,
            [this](Instant at, const config::ScriptStep& step) { commentary_.step(at, step); }),
      login_(*loop_, *this, commentary_, login_options(options)),
      timer_(loop_->timer([this] { turn(); })),
      input_(loop_->fd_watch([this](sys::FdReady) { typed(); })) {
    run_app(std::make_unique<App>(
        std::move(settings),
        App::Ports{line_, login_, commentary_, commentary_, *loop_, post_halt_},
        App::Hooks{}));
}

int Simulation::run() {
    const Outcome signals = loop_->on_signal([this](int) { loop_->exit(0); });
    if (!signals) {
        commentary_.say(ports::Priority::error, ports::Message::plain, signals.error().text);
        return 1;
    }
    if (line_.button() == Level::active) {
        commentary_.step(line_.start(), config::Remark{"The button is pressed from the start."});
    }
    app().start();
    login_.start();
    end_ = by_hand_ ? never : line_.end();
    if (by_hand_) {
        std::printf(
            "Type \"press 3.2 s\" to press and let go, \"help\" for more, \"quit\" to end.\n");
        std::fflush(stdout);
        const Outcome watched = input_.start(STDIN_FILENO);
        if (!watched) {
            commentary_.say(ports::Priority::error, ports::Message::plain, watched.error().text);
            return 1;
        }
    }
    arm();
    const auto code = loop_->run();
    app().stop();
    const int requests = commentary_.requests();
    std::printf("\nThe run is over: %d %s%s.\n",
                requests,
                requests == 1 ? "request" : "requests",
                dry_run_ && requests > 0 ? ", dry: nothing was asked of this machine" : "");
    return code ? *code : 1;
}

void Simulation::turn() {
    if (line_.play()) {
        app().chips_changed();
    } else {
        app().wake();
    }
    if (loop_->now() >= end_ && line_.next_step() == never) {
        loop_->exit(0);
    }
    arm();
}

void Simulation::arm() {
    if (by_hand_ && end_ != never && line_.next_step() != never) {
        end_ = line_.next_step() + 1s;
    }
    const Instant end = line_.next_step() == never ? end_ : never;
    timer_.arm(std::min({line_.next_step(), app().next_deadline(), end}));
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
    const auto typed = config::parse_press_line(text, line_.button());
    if (!typed) {
        std::printf("%s\n", typed.error().c_str());
    } else if (typed->kind == config::TypedLine::Kind::quit) {
        loop_->exit(0);
    } else if (typed->kind == config::TypedLine::Kind::help) {
        const std::string_view help = config::press_line_help();
        std::printf("%.*s", static_cast<int>(help.size()), help.data());
    } else {
        line_.add(typed->events);
    }
    std::fflush(stdout);
}

}  // namespace

int run_simulation(const Options& options, config::Settings settings, config::PressScript script) {
    auto loop = sys::EventLoop::open();
    if (!loop) {
        std::fprintf(stderr, "nightlatchd: %s\n", loop.error().text.c_str());
        return 1;
    }
    return Simulation(options, std::move(*loop), std::move(settings), std::move(script)).run();
}

}  // namespace nightlatch::service
