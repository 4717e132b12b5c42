// SPDX-License-Identifier: MIT
// The guard at the last moment. systemd-shutdown runs this as root when the services have ended and
// the file systems are unmounted or read-only, and powers off when it has ended
// [systemd-shutdown(8)]. A supply that latches off when its release line rises cannot do so while
// the button is held; so the machine waits, at most 20 s, for the button to be let go.
// Whatever is odd, it says so and ends: it never keeps a machine from powering off.
#include "daemon/guard/guard_file.hpp"
#include "daemon/guard/release_wait.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <csignal>
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <ctime>

#include <fcntl.h>
#include <linux/gpio.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <unistd.h>

namespace nightlatch::guard {
namespace {

using namespace std::chrono_literals;

constexpr char guard_path[] = "/run/nightlatch/guard";

/// 20 s in all, with time left to say so before the alarm clock ends a call that hangs.
constexpr Duration longest_wait = 19500ms;
constexpr unsigned alarm_seconds = 20;

/// To the kernel's log: the journal is gone by now. `priority`: syslog(3).
void say(int priority, const char* text) {
    std::array<char, 256> line{};
    const int length =
        std::snprintf(line.data(), line.size(), "<%d>nightlatch: %s\n", priority, text);
    const int log = open("/dev/kmsg", O_WRONLY | O_CLOEXEC);
    const int out = log >= 0 ? log : STDERR_FILENO;
    const std::size_t size = std::min(static_cast<std::size_t>(length), line.size() - 1);
    // There is nobody left to tell that this failed.
    [[maybe_unused]] const ssize_t written = write(out, line.data(), size);
    if (log >= 0) {
        close(log);
    }
}

Instant now() {
    timespec time{};
    clock_gettime(CLOCK_MONOTONIC, &time);
    return Instant(std::chrono::seconds(time.tv_sec) + std::chrono::nanoseconds(time.tv_nsec));
}

std::uint64_t flags_for(const GuardFile& file) {
    std::uint64_t flags =
        GPIO_V2_LINE_FLAG_INPUT | GPIO_V2_LINE_FLAG_EDGE_RISING | GPIO_V2_LINE_FLAG_EDGE_FALLING;
    if (file.active_low) {
        flags |= GPIO_V2_LINE_FLAG_ACTIVE_LOW;
    }
    switch (file.bias) {
    case lines::Bias::as_is:
        break;
    case lines::Bias::none:
        flags |= GPIO_V2_LINE_FLAG_BIAS_DISABLED;
        break;
    case lines::Bias::pull_up:
        flags |= GPIO_V2_LINE_FLAG_BIAS_PULL_UP;
        break;
    case lines::Bias::pull_down:
        flags |= GPIO_V2_LINE_FLAG_BIAS_PULL_DOWN;
        break;
    }
    return flags;
}

/// The line's descriptor, or -1 with errno. By the kernel's interface itself, so that the program
/// is static and small [linux Documentation/userspace-api/gpio/gpio-v2-get-line-ioctl.rst].
int request(const GuardFile& file) {
    const int chip = open(("/dev/" + file.chip).c_str(), O_RDWR | O_NOFOLLOW | O_CLOEXEC);
    if (chip < 0) {
        return -1;
    }
    gpio_v2_line_request wanted{};
    wanted.offsets[0] = file.offset;
    wanted.num_lines = 1;
    wanted.config.flags = flags_for(file);
    std::strncpy(wanted.consumer, "nightlatch-guard", sizeof wanted.consumer - 1);
    const int failed = ioctl(chip, GPIO_V2_GET_LINE_IOCTL, &wanted);
    const int code = errno;
    close(chip);
    errno = code;
    return failed < 0 ? -1 : wanted.fd;
}

/// 1 active, 0 inactive, -1 the chip has gone.
int level_of(int line) {
    gpio_v2_line_values values{};
    values.mask = 1;
    return ioctl(line, GPIO_V2_LINE_GET_VALUES_IOCTL, &values) < 0
               ? -1
               : static_cast<int>(values.bits & 1U);
}

/// Waits for an edge or the deadline. 1: edges came, 0: none did, -1: the chip has gone.
int await_edge(int line, Duration left) {
    const auto ms = std::chrono::ceil<std::chrono::milliseconds>(left).count();
    pollfd wait{line, POLLIN, 0};
    const int ready = poll(&wait, 1, static_cast<int>(std::max<std::int64_t>(ms, 0)));
    if (ready <= 0) {
        return ready < 0 && errno != EINTR ? -1 : 0;
    }
    std::array<gpio_v2_line_event, 16> edges{};
    return read(line, edges.data(), sizeof edges) < 0 ? -1 : 1;
}

void say_how_long(int priority, const char* what, Duration waited) {
    std::array<char, 128> text{};
    const long long ms = std::chrono::duration_cast<std::chrono::milliseconds>(waited).count();
    std::snprintf(text.data(), text.size(), "%s after %lld.%03lld s", what, ms / 1000, ms % 1000);
    say(priority, text.data());
}

void wait_for_release(int line, Duration stable) {
    const Instant start = now();
    ReleaseWait wait(stable, start + longest_wait);
    bool said = false;
    int edges = 1;  // so that the first level is taken whatever it is
    for (;;) {
        const Instant at = now();
        const int level = level_of(line);
        if (edges < 0 || level < 0) {
            say(4, "the button's chip has gone: not waiting for the button");
            return;
        }
        const Level read = level != 0 ? Level::active : Level::inactive;
        if (edges > 0 || read != wait.level()) {
            wait.sample(at, read);
        }
        if (read == Level::active && !said) {
            said = true;
            say(4, "the button is still pressed: let go of it; going down then, or after 20 s");
        }
        switch (wait.verdict(at)) {
        case ReleaseWait::Verdict::released:
            say_how_long(6, "the button reads released", at - start);
            return;
        case ReleaseWait::Verdict::gave_up:
            say_how_long(4, "the button is not released: going on without", at - start);
            return;
        case ReleaseWait::Verdict::wait:
            break;
        }
        edges = await_edge(line, wait.deadline() - at);
    }
}

extern "C" void end_well(int) {
    _exit(0);
}

/// A call into a chip whose bus hangs would never return.
void end_after_20_seconds() {
    std::signal(SIGALRM, end_well);
    sigset_t alarm_only{};
    sigemptyset(&alarm_only);
    sigaddset(&alarm_only, SIGALRM);
    sigprocmask(SIG_UNBLOCK, &alarm_only, nullptr);
    alarm(alarm_seconds);
}

void run() {
    const Result<GuardFile> file = read_guard_file(guard_path);
    if (!file) {
        say(6, ("not waiting for the button: " + file.error().text).c_str());
        return;
    }
    end_after_20_seconds();
    const int line = request(*file);
    if (line < 0) {
        say(4, ("not waiting for the button: " + file->chip + ": " + std::strerror(errno)).c_str());
        return;
    }
    wait_for_release(line, file->release_interval);
}

}  // namespace
}  // namespace nightlatch::guard

int main(int argc, char** argv) {
    // A reboot does not let go of the supply, so nobody need let go of the button.
    if (argc == 2 && (std::strcmp(argv[1], "poweroff") == 0 || std::strcmp(argv[1], "halt") == 0)) {
        nightlatch::guard::run();
    }
    return 0;
}
