// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "daemon/sys/event_loop.hpp"
#include "daemon/sys/fd.hpp"
#include "daemon/tool/client/service_state.hpp"

#include <deque>
#include <functional>
#include <string>
#include <utility>
#include <vector>

#include <sys/types.h>

namespace nightlatch::tool {

/// What a run of the program is about.
struct HookCall {
    bool is_cue = true;  ///< else an announcement
    std::vector<std::pair<std::string, std::string>> environment;
    std::string input;  ///< its standard input: the JSON line
};

HookCall cue_call(const ServiceState& state, Instant now);
HookCall announced_call(const std::string& name, Instant now);

/// Runs a program for what happens, one run at a time, in an account and surroundings that are the
/// caller's. Of the cues that come while it runs only the latest is kept; every announcement is.
/// A run that lasts longer than the limit is ended, with its process group.
class Hook {
public:
    /// `idle` is called from the loop whenever nothing runs and nothing waits any more.
    Hook(sys::EventLoop& loop,
         std::vector<std::string> command,
         Duration limit,
         std::function<void()> idle);
    ~Hook();
    Hook(const Hook&) = delete;
    Hook& operator=(const Hook&) = delete;

    void run_for(HookCall call);

    /// Nothing more is begun, and what runs is asked to end; idle() tells when it has.
    void stop();

    [[nodiscard]] bool is_idle() const noexcept { return child_ == 0 && waiting_.empty(); }

private:
    enum class Stopping : unsigned char { no, asked, forced };

    void begin_next();
    void begin(const HookCall& call);
    void take_end();
    void out_of_time();
    void ask_to_end();

    sys::EventLoop& loop_;
    std::vector<std::string> command_;
    Duration limit_;
    std::function<void()> idle_;
    sys::FdWatch ended_;
    sys::Timer timer_;
    sys::Deferred next_;
    std::deque<HookCall> waiting_;
    pid_t child_ = 0;  ///< which leads a process group of its own
    sys::Fd child_fd_;
    Stopping stopping_ = Stopping::no;
};

}  // namespace nightlatch::tool
