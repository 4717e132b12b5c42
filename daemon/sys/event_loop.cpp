// SPDX-License-Identifier: MIT
#include "daemon/sys/event_loop.hpp"

#include "base/ensure.hpp"

#include <algorithm>
#include <csignal>
#include <cstring>
#include <string>
#include <utility>
#include <variant>

#include <sys/epoll.h>
#include <systemd/sd-event.h>
#include <time.h>

namespace nightlatch::sys {

/// `call` gets what its kind has to say: epoll's events, a signal's number, or nothing (0).
struct Source {
    sd_event* loop = nullptr;
    sd_event_source* source = nullptr;
    std::function<void(std::uint32_t)> call;
    bool calling = false;
};

void release(Source* source) noexcept {
    NIGHTLATCH_ENSURE(!source->calling);
    sd_event_source_disable_unref(source->source);
    delete source;
}

namespace {

// sd-event takes 0 for "250 ms will do" [sd_event_add_time(3)]; this is the sharpest it offers.
constexpr std::uint64_t accuracy_us = 1;

void enter(void* userdata, std::uint32_t what) noexcept {
    auto& source = *static_cast<Source*>(userdata);
    source.calling = true;
    source.call(what);
    source.calling = false;
}

int on_time(sd_event_source*, std::uint64_t, void* userdata) noexcept {
    enter(userdata, 0);
    return 0;
}

int on_defer(sd_event_source*, void* userdata) noexcept {
    enter(userdata, 0);
    return 0;
}

int on_fd(sd_event_source*, int, std::uint32_t events, void* userdata) noexcept {
    enter(userdata, events);
    return 0;
}

int on_signal_arrived(sd_event_source*, const signalfd_siginfo* info, void* userdata) noexcept {
    enter(userdata, info->ssi_signo);
    return 0;
}

SourceHandle make_source(sd_event* loop, std::function<void(std::uint32_t)> call) {
    return SourceHandle{new Source{loop, nullptr, std::move(call), false}};
}

/// Enabling fails in one honest case: the loop has ended, and nothing will be called any more.
void enable(const Source& source, int mode) noexcept {
    const int r = sd_event_source_set_enabled(source.source, mode);
    NIGHTLATCH_ENSURE(r >= 0 || r == -ESTALE);
}

Unexpected<Error> failed(const char* what, int negative_errno) {
    return {Error{Trouble::other, std::string{what} + ": " + std::strerror(-negative_errno)}};
}

Duration read_clock(clockid_t clock) noexcept {
    timespec at{};
    NIGHTLATCH_ENSURE(clock_gettime(clock, &at) == 0);
    return std::chrono::seconds{at.tv_sec} + std::chrono::nanoseconds{at.tv_nsec};
}

/// CLOCK_MONOTONIC microseconds, rounded up: an alarm is never early.
std::uint64_t microseconds_of(Instant when) noexcept {
    const auto us = std::chrono::ceil<std::chrono::microseconds>(when.time_since_epoch()).count();
    return us > 0 ? static_cast<std::uint64_t>(us) : 0;
}

}  // namespace

void Timer::arm(Instant when) noexcept {
    if (when == never) {
        disarm();
        return;
    }
    const int r = sd_event_source_set_time(source_->source, microseconds_of(when));
    NIGHTLATCH_ENSURE(r >= 0 || r == -ESTALE);
    enable(*source_, SD_EVENT_ONESHOT);
}

void Timer::disarm() noexcept {
    enable(*source_, SD_EVENT_OFF);
}

void Deferred::post() noexcept {
    enable(*source_, SD_EVENT_ONESHOT);
}

void Deferred::cancel() noexcept {
    enable(*source_, SD_EVENT_OFF);
}

void EachTurn::on() noexcept {
    enable(*source_, SD_EVENT_ON);
}

void EachTurn::off() noexcept {
    enable(*source_, SD_EVENT_OFF);
}

Outcome FdWatch::start(int fd) {
    stop();
    const int r =
        sd_event_add_io(source_->loop, &source_->source, fd, EPOLLIN, on_fd, source_.get());
    if (r < 0) {
        return failed("cannot watch a file descriptor", r);
    }
    return std::monostate{};
}

void FdWatch::stop() noexcept {
    source_->source = sd_event_source_disable_unref(source_->source);
}

void EventLoop::unref(sd_event* event) noexcept {
    sd_event_unref(event);
}

Result<std::unique_ptr<EventLoop>> EventLoop::open() {
    sd_event* event = nullptr;
    int r = sd_event_new(&event);
    if (r < 0) {
        return failed("cannot make an event loop", r);
    }
    EventHandle owned{event};
    // The loop keeps its timerfd from here on, even though this first timer is gone at once.
    sd_event_source* first = nullptr;
    r = sd_event_add_time(
        event, &first, CLOCK_MONOTONIC, UINT64_MAX, accuracy_us, on_time, nullptr);
    if (r < 0) {
        return failed("cannot make a timer", r);
    }
    sd_event_source_disable_unref(first);
    return std::unique_ptr<EventLoop>{new EventLoop{std::move(owned)}};
}

Instant EventLoop::now() const {
    return Instant{read_clock(CLOCK_MONOTONIC)};
}

Duration EventLoop::suspended() const {
    // Being scheduled away between the two readings can only make the difference too large, so the
    // smallest of a few is the true one to within microseconds.
    Duration smallest = Duration::max();
    for (int i = 0; i < 3; ++i) {
        const Duration running = read_clock(CLOCK_MONOTONIC);
        smallest = std::min(smallest, read_clock(CLOCK_BOOTTIME) - running);
    }
    return smallest;
}

Timer EventLoop::timer(std::function<void()> due) {
    auto source = make_source(raw(), [due = std::move(due)](std::uint32_t) { due(); });
    const int r = sd_event_add_time(
        raw(), &source->source, CLOCK_MONOTONIC, UINT64_MAX, accuracy_us, on_time, source.get());
    NIGHTLATCH_ENSURE(r >= 0);
    enable(*source, SD_EVENT_OFF);
    return Timer{std::move(source)};
}

Deferred EventLoop::deferred(std::function<void()> call) {
    auto source = make_source(raw(), [call = std::move(call)](std::uint32_t) { call(); });
    const int r = sd_event_add_defer(raw(), &source->source, on_defer, source.get());
    NIGHTLATCH_ENSURE(r >= 0);
    enable(*source, SD_EVENT_OFF);
    return Deferred{std::move(source)};
}

Deferred EventLoop::deferred_until_idle(std::function<void()> call) {
    Deferred made = deferred(std::move(call));
    NIGHTLATCH_ENSURE(sd_event_source_set_priority(made.source_->source, SD_EVENT_PRIORITY_IDLE) >=
                      0);
    return made;
}

EachTurn EventLoop::each_turn(std::function<void()> call) {
    auto source = make_source(raw(), [call = std::move(call)](std::uint32_t) { call(); });
    const int r = sd_event_add_post(raw(), &source->source, on_defer, source.get());
    NIGHTLATCH_ENSURE(r >= 0);
    enable(*source, SD_EVENT_OFF);
    return EachTurn{std::move(source)};
}

FdWatch EventLoop::fd_watch(std::function<void(FdReady)> ready) {
    return FdWatch{make_source(raw(), [ready = std::move(ready)](std::uint32_t events) {
        ready(FdReady{(events & EPOLLIN) != 0, (events & (EPOLLHUP | EPOLLERR)) != 0});
    })};
}

Outcome EventLoop::on_signal(const std::function<void(int)>& arrived) {
    const std::pair<int, SourceHandle*> wanted[] = {
        {SIGTERM, &terminate_}, {SIGINT, &interrupt_}, {SIGHUP, &hang_up_}};
    sigset_t mask{};
    sigemptyset(&mask);
    for (const auto& [number, keeper] : wanted) {
        sigaddset(&mask, number);
    }
    if (const int r = pthread_sigmask(SIG_BLOCK, &mask, nullptr); r != 0) {
        return failed("cannot block signals", -r);
    }
    for (const auto& [number, keeper] : wanted) {
        *keeper = make_source(
            raw(), [arrived](std::uint32_t signal) { arrived(static_cast<int>(signal)); });
        const int r = sd_event_add_signal(
            raw(), &(*keeper)->source, number, on_signal_arrived, keeper->get());
        if (r < 0) {
            return failed("cannot watch for signals", r);
        }
    }
    return std::monostate{};
}

Outcome EventLoop::start_watchdog() {
    if (const int r = sd_event_set_watchdog(raw(), 1); r < 0) {
        return failed("cannot start the watchdog (is WATCHDOG_USEC a number?)", r);
    }
    return std::monostate{};
}

Result<int> EventLoop::run() {
    const int r = sd_event_loop(raw());
    if (r < 0) {
        return failed("the event loop failed", r);
    }
    return r;
}

Outcome EventLoop::turn(Duration at_most) {
    const int r = sd_event_run(raw(), microseconds_of(Instant{at_most}));
    if (r < 0) {
        return failed("the event loop failed", r);
    }
    return std::monostate{};
}

void EventLoop::exit(int code) noexcept {
    const int r = sd_event_exit(raw(), code);
    NIGHTLATCH_ENSURE(r >= 0 || r == -ESTALE);
}

std::uint64_t EventLoop::turns() const noexcept {
    std::uint64_t count = 0;
    NIGHTLATCH_ENSURE(sd_event_get_iteration(raw(), &count) >= 0);
    return count;
}

}  // namespace nightlatch::sys
