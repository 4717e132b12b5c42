// SPDX-License-Identifier: MIT
#include "daemon/tool/follow/hook.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "daemon/tool/client/state_json.hpp"
#include "daemon/tool/client/words.hpp"
#include "daemon/tool/terminal.hpp"

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <string_view>

#include <spawn.h>
#include <sys/mman.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

namespace nightlatch::tool {
namespace {

using namespace std::chrono_literals;

/// From SIGTERM to SIGKILL.
constexpr Duration grace = 2s;
/// Announcements that wait: a program that always takes its whole time cannot have them all.
constexpr std::size_t most_waiting = 100;
constexpr std::string_view prefix = "NIGHTLATCH_";

std::string whole_microseconds(Instant when) {
    return when == never ? "" : std::to_string(microseconds(when.time_since_epoch()));
}

/// A file of no folder with the text in it, at its beginning: whether or not the program reads it,
/// nobody waits.
sys::Fd input_with(const std::string& text) {
    sys::Fd file{memfd_create("nightlatch-follow", MFD_CLOEXEC)};
    const bool written =
        file && write(file.get(), text.data(), text.size()) == static_cast<ssize_t>(text.size());
    return written && lseek(file.get(), 0, SEEK_SET) == 0 ? std::move(file) : sys::Fd{};
}

/// Ours but for what we set, so that nothing of an earlier cue is left in it.
std::vector<std::string> environment_for(const HookCall& call) {
    std::vector<std::string> all;
    for (char** one = environ; *one != nullptr; ++one) {
        if (!std::string_view(*one).starts_with(prefix)) {
            all.emplace_back(*one);
        }
    }
    for (const auto& [name, value] : call.environment) {
        std::string& one = all.emplace_back(prefix);
        one += name;
        one += '=';
        one += value;
    }
    return all;
}

std::vector<char*> pointers_to(std::vector<std::string>& words) {
    std::vector<char*> pointers;
    pointers.reserve(words.size() + 1);
    for (std::string& word : words) {
        pointers.push_back(word.data());
    }
    pointers.push_back(nullptr);
    return pointers;
}

/// A process group of its own, and signals as a program expects them: our loop blocks some.
void set_attributes(posix_spawnattr_t& attributes) {
    sigset_t none;
    sigset_t standard;
    sigemptyset(&none);
    sigemptyset(&standard);
    sigaddset(&standard, SIGPIPE);
    posix_spawnattr_setsigmask(&attributes, &none);
    posix_spawnattr_setsigdefault(&attributes, &standard);
    posix_spawnattr_setpgroup(&attributes, 0);
    posix_spawnattr_setflags(
        &attributes, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
}

/// 0, or errno.
int spawn(std::vector<std::string> command, const HookCall& call, pid_t& child) {
    const sys::Fd input = input_with(call.input);
    if (!input) {
        return errno;
    }
    std::vector<std::string> environment = environment_for(call);
    posix_spawnattr_t attributes;
    posix_spawn_file_actions_t files;
    posix_spawnattr_init(&attributes);
    posix_spawn_file_actions_init(&files);
    set_attributes(attributes);
    posix_spawn_file_actions_adddup2(&files, input.get(), STDIN_FILENO);
    const int failed = posix_spawnp(&child,
                                    command.front().c_str(),
                                    &files,
                                    &attributes,
                                    pointers_to(command).data(),
                                    pointers_to(environment).data());
    posix_spawn_file_actions_destroy(&files);
    posix_spawnattr_destroy(&attributes);
    return failed;
}

/// What is wrong with how a run ended; empty when nothing is.
std::string ending_words(int status) {
    if (WIFSIGNALED(status)) {
        return "was ended by signal " + std::to_string(WTERMSIG(status));
    }
    return WEXITSTATUS(status) == 0 ? "" : "ended with " + std::to_string(WEXITSTATUS(status));
}

}  // namespace

HookCall cue_call(const ServiceState& state, Instant now) {
    return {true,
            {{"CUE", state.cue},
             {"STAGE", state.stage},
             {"SINCE", whole_microseconds(state.since)},
             {"UNTIL", whole_microseconds(state.until)},
             {"REASON", state.reason.code},
             {"REASON_TEXT", reason_words(state.reason)},
             {"POST_HALT", state.post_halt},
             {"DRY", state.dry ? "1" : "0"}},
            follow_line(state, now)};
}

HookCall announced_call(const std::string& name, Instant now) {
    return {false, {{"ANNOUNCED", name}}, follow_line(name, now)};
}

Hook::Hook(sys::EventLoop& loop,
           std::vector<std::string> command,
           Duration limit,
           std::function<void()> idle)
    : loop_(loop), command_(std::move(command)), limit_(limit), idle_(std::move(idle)),
      ended_(loop.fd_watch([this](sys::FdReady) { take_end(); })),
      timer_(loop.timer([this] { out_of_time(); })),
      next_(loop.deferred([this] { begin_next(); })) {}

Hook::~Hook() {
    if (child_ != 0) {
        kill(-child_, SIGKILL);
        waitpid(child_, nullptr, 0);
    }
}

void Hook::run_for(HookCall call) {
    if (call.is_cue) {
        std::erase_if(waiting_, [](const HookCall& one) { return one.is_cue; });
    } else if (waiting_.size() >= most_waiting) {
        tell("nightlatch: " + std::to_string(waiting_.size()) +
             " announcements wait for the program of --run: the oldest is dropped");
        waiting_.pop_front();
    }
    waiting_.push_back(std::move(call));
    next_.post();
}

void Hook::stop() {
    waiting_.clear();
    if (child_ == 0) {
        next_.post();
    } else if (stopping_ == Stopping::no) {
        ask_to_end();
    }
}

void Hook::begin_next() {
    while (child_ == 0 && !waiting_.empty()) {
        const HookCall call = std::move(waiting_.front());
        waiting_.pop_front();
        begin(call);
    }
    if (is_idle()) {
        idle_();
    }
}

void Hook::begin(const HookCall& call) {
    pid_t child = 0;
    if (const int failed = spawn(command_, call, child); failed != 0) {
        complain(command_.front() + " cannot be run: " + std::strerror(failed));
        return;
    }
    child_ = child;
    stopping_ = Stopping::no;
    // Not by the C library, whose header of Debian 12 gives the function C++ linkage.
    child_fd_ = sys::Fd{static_cast<int>(syscall(SYS_pidfd_open, child, 0))};
    if (!child_fd_ || !ended_.start(child_fd_.get())) {
        complain("its end cannot be watched: " + std::string(std::strerror(errno)));
        kill(-child_, SIGKILL);
        take_end();
        return;
    }
    timer_.arm(loop_.now() + limit_);
}

/// Until it is waited for the program keeps its number, and so its group: what is left of a group
/// that was told to end goes with it.
void Hook::take_end() {
    if (stopping_ != Stopping::no) {
        kill(-child_, SIGKILL);
    }
    int status = 0;
    waitpid(child_, &status, 0);
    const std::string wrong = ending_words(status);
    if (!wrong.empty() && stopping_ == Stopping::no) {
        complain(command_.front() + " " + wrong);
    }
    timer_.disarm();
    ended_.stop();
    child_fd_.reset();
    child_ = 0;
    next_.post();
}

void Hook::out_of_time() {
    if (child_ == 0) {
        return;
    }
    if (stopping_ == Stopping::no) {
        complain(command_.front() + " runs for longer than " + to_text(limit_) + ": ended");
        ask_to_end();
        return;
    }
    stopping_ = Stopping::forced;
    kill(-child_, SIGKILL);
}

void Hook::ask_to_end() {
    stopping_ = Stopping::asked;
    kill(-child_, SIGTERM);
    timer_.arm(loop_.now() + grace);
}

}  // namespace nightlatch::tool
