// SPDX-License-Identifier: MIT
#include "daemon/tool/logbook/bounded.hpp"

#include "daemon/sys/fd.hpp"

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <csignal>

#include <poll.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

namespace nightlatch::tool {
namespace {

/// A signal does not lengthen it.
bool ends_within(int process, Duration most) {
    using std::chrono::steady_clock;
    const auto end = steady_clock::now() + most;
    pollfd ended{process, POLLIN, 0};
    int ready = -1;
    do {
        const auto left = std::chrono::ceil<std::chrono::milliseconds>(end - steady_clock::now());
        ready = poll(&ended, 1, static_cast<int>(std::max<std::int64_t>(left.count(), 0)));
    } while (ready < 0 && errno == EINTR);
    return ready > 0;
}

}  // namespace

std::optional<int> done_within(Duration most, const std::function<int()>& work) {
    const pid_t child = fork();
    if (child == 0) {
        _exit(work());
    }
    if (child < 0) {
        return work();  // there can be no other process: better without a bound than not at all
    }
    const sys::Fd process{static_cast<int>(syscall(SYS_pidfd_open, child, 0))};
    if (process && !ends_within(process.get(), most)) {
        kill(child, SIGKILL);
        return std::nullopt;
    }
    int status = 0;
    if (waitpid(child, &status, 0) != child || !WIFEXITED(status)) {
        return std::nullopt;
    }
    return WEXITSTATUS(status);
}

}  // namespace nightlatch::tool
