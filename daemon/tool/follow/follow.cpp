// SPDX-License-Identifier: MIT
#include "daemon/tool/follow/follow.hpp"

#include "daemon/tool/client/client.hpp"
#include "daemon/tool/follow/hook.hpp"
#include "daemon/tool/follow/teller.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"

#include <memory>

#include <sys/stat.h>
#include <unistd.h>

namespace nightlatch::tool {
namespace {

/// A person's screen, unless it is for a program or for once.
bool is_live(const FollowOptions& options) {
    return isatty(STDOUT_FILENO) == 1 && !options.json && !options.once;
}

/// The command while it runs: hands on what the client tells, and knows when it is over.
class Following final : public ServiceFollower {
public:
    Following(sys::EventLoop& loop, const FollowOptions& options);

    int run();

    void shown(const ServiceState& state) override;
    void announced(const std::string& name) override;
    void absent(Absent why, const std::string& detail) override;

private:
    void watch_reader();
    void look_at_reader(sys::FdReady ready);
    void hook_is_idle();
    void end(int status);
    void stop();
    void check_output();

    sys::EventLoop& loop_;
    const FollowOptions& options_;
    ServiceClient client_;
    std::unique_ptr<Hook> hook_;
    std::unique_ptr<ServiceFollower> teller_;
    sys::FdWatch reader_;
    std::optional<int> ending_;  ///< the exit status, once it is over
};

Following::Following(sys::EventLoop& loop, const FollowOptions& options)
    : loop_(loop), options_(options), client_(loop, *this),
      reader_(loop.fd_watch([this](sys::FdReady ready) { look_at_reader(ready); })) {
    if (options.run) {
        hook_ =
            std::make_unique<Hook>(loop, *options.run, options.limit, [this] { hook_is_idle(); });
        teller_ = std::make_unique<HookTeller>(loop, *hook_);
    } else if (options.json) {
        teller_ = std::make_unique<JsonTeller>(loop);
    } else if (is_live(options)) {
        teller_ = std::make_unique<ScreenTeller>(loop, options.full_screen);
    } else {
        teller_ = std::make_unique<PlainTeller>(loop);
    }
}

void Following::look_at_reader(sys::FdReady ready) {
    if (ready.hung_up) {
        reader_.stop();
        end(complain("nobody reads the output any more", no_answer));
    }
}

void Following::hook_is_idle() {
    if (ending_) {
        loop_.exit(*ending_);
    }
}

int Following::run() {
    if (const Outcome signals = loop_.on_signal([this](int) { stop(); }); !signals) {
        return complain(signals.error().text, 1);
    }
    watch_reader();
    client_.start();
    const Result<int> ran = loop_.run();
    return ran ? *ran : complain(ran.error().text, 1);
}

/// So that a pipe whose reader has gone does not leave us behind until the next cue. What is no
/// pipe is not watched: a terminal's keys are none of our business.
void Following::watch_reader() {
    struct stat status {};

    if (fstat(STDOUT_FILENO, &status) == 0 && S_ISFIFO(status.st_mode)) {
        static_cast<void>(reader_.start(STDOUT_FILENO));  // else the next line finds out
    }
}

void Following::shown(const ServiceState& state) {
    if (ending_) {
        return;
    }
    teller_->shown(state);
    check_output();
    if (options_.once || (options_.end_at && state.cue == core::text_of(*options_.end_at))) {
        end(0);
    }
}

void Following::announced(const std::string& name) {
    if (!ending_) {
        teller_->announced(name);
        check_output();
    }
}

void Following::absent(Absent why, const std::string& detail) {
    if (ending_) {
        return;
    }
    teller_->absent(why, detail);
    check_output();
    if (options_.once) {
        end(1);
    }
}

void Following::check_output() {
    if (output_failed()) {
        end(no_answer);
    }
}

/// What runs for what was shown may come to its end first.
void Following::end(int status) {
    if (ending_) {
        return;
    }
    ending_ = status;
    if (hook_ == nullptr || hook_->is_idle()) {
        loop_.exit(status);
    }
}

/// By a signal; a second one does not wait for the program.
void Following::stop() {
    const bool again = ending_.has_value();
    end(options_.once || options_.end_at ? 1 : 0);
    if (hook_ != nullptr && !again) {
        hook_->stop();
    } else {
        loop_.exit(*ending_);
    }
}

}  // namespace

int run_follow(const FollowOptions& options) {
    if (options.full_screen && isatty(STDOUT_FILENO) != 1) {
        return complain("--full-screen needs a terminal: leave it out, or use --json", no_answer);
    }
    auto loop = sys::EventLoop::open();
    if (!loop) {
        return complain(loop.error().text, 1);
    }
    return Following(**loop, options).run();
}

}  // namespace nightlatch::tool
