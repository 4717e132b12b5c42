// SPDX-License-Identifier: MIT
#pragma once

#include "base/handle.hpp"
#include "base/result.hpp"
#include "base/time.hpp"
#include "supervisor/ports/clock.hpp"

#include <cstdint>
#include <functional>
#include <memory>

struct sd_event;

namespace nightlatch::sys {

/// What epoll said about a watched descriptor; both may be true.
struct FdReady {
    bool readable = false;
    bool hung_up = false;  ///< EPOLLHUP or EPOLLERR: the other side, or the device, is gone
};

/// One event source of the loop; an implementation detail of the five handles below.
struct Source;
void release(Source* source) noexcept;
using SourceHandle = Handle<Source, release>;

/// A one-shot alarm. It keeps its callback: arming and disarming allocate nothing. It may be armed,
/// disarmed, but not destroyed, from inside its own callback. Must not outlive the loop.
class Timer {
public:
    /// Calls back once, at or after `when`, never before (rounded up to the microsecond); at once
    /// if that is past. Armed again, it forgets the earlier instant. `never` disarms.
    void arm(Instant when) noexcept;
    void disarm() noexcept;

private:
    friend class EventLoop;

    explicit Timer(SourceHandle source) noexcept : source_(std::move(source)) {}

    SourceHandle source_;
};

/// Calls back from the loop's next turn, once for any number of post()s before it. What must not
/// happen inside a caller's stack is posted. Not to be destroyed from its own callback.
class Deferred {
public:
    void post() noexcept;
    void cancel() noexcept;

private:
    friend class EventLoop;

    explicit Deferred(SourceHandle source) noexcept : source_(std::move(source)) {}

    SourceHandle source_;
};

/// Calls back at the end of each turn in which something else was called, while it is on: for what
/// a library's own sources bring about. It never wakes the loop by itself. Not to be destroyed from
/// its own callback.
class EachTurn {
public:
    void on() noexcept;
    void off() noexcept;

private:
    friend class EventLoop;

    explicit EachTurn(SourceHandle source) noexcept : source_(std::move(source)) {}

    SourceHandle source_;
};

/// Watches one descriptor at a time for EPOLLIN, EPOLLHUP and EPOLLERR, level-triggered. It does
/// not own the descriptor: stop() before closing it, or epoll goes on reporting the closed file
/// while a duplicate lives [epoll(7)]. Both calls are fine inside its callback; destroying it there
/// is not.
class FdWatch {
public:
    /// Fails on a descriptor that cannot be polled (EPERM) or is closed (EBADF).
    Outcome start(int fd);
    void stop() noexcept;

private:
    friend class EventLoop;

    explicit FdWatch(SourceHandle source) noexcept : source_(std::move(source)) {}

    SourceHandle source_;
};

/// The one event loop (sd-event) and the one reader of clocks. Single-threaded. Callbacks are set
/// once; one that throws ends the program. At rest nothing wakes it but the watchdog.
class EventLoop final : public ports::Clock {
public:
    /// Takes every descriptor the loop will ever need (epoll, timerfd), so that making timers later
    /// can fail by lack of memory only, which aborts.
    static Result<std::unique_ptr<EventLoop>> open();

    [[nodiscard]] Instant now() const override;
    [[nodiscard]] Duration suspended() const override;

    Timer timer(std::function<void()> due);
    Deferred deferred(std::function<void()> call);
    /// The same, but only when nothing else is due: for what nobody waits for.
    Deferred deferred_until_idle(std::function<void()> call);
    EachTurn each_turn(std::function<void()> call);
    FdWatch fd_watch(std::function<void(FdReady)> ready);

    /// Blocks SIGTERM, SIGINT and SIGHUP for good and delivers them, by number, from the loop.
    /// Call once, before any thread is started.
    Outcome on_signal(const std::function<void(int)>& arrived);

    /// Pings the service manager at half of $WATCHDOG_USEC while the loop turns; nothing to do and
    /// no wake-up without that variable [sd_event_set_watchdog(3)]. The ping is libsystemd's, which
    /// waits for a manager that does not read; it could not power off then either.
    Outcome start_watchdog();

    /// Runs until exit(); gives the code that exit() was given.
    Result<int> run();
    void exit(int code) noexcept;

    /// One turn: waits for something to happen, at most so long, and makes its call. For tests,
    /// which turn the loop until what they wait for is there.
    Outcome turn(Duration at_most);

    /// How often the loop has turned: what "zero wake-ups at rest" is counted by.
    [[nodiscard]] std::uint64_t turns() const noexcept;

    /// For sd_bus_attach_event(3) only.
    [[nodiscard]] sd_event* raw() const noexcept { return event_.get(); }

private:
    static void unref(sd_event* event) noexcept;
    using EventHandle = Handle<sd_event, unref>;

    explicit EventLoop(EventHandle event) noexcept : event_(std::move(event)) {}

    EventHandle event_;
    SourceHandle terminate_;
    SourceHandle interrupt_;
    SourceHandle hang_up_;
};

}  // namespace nightlatch::sys
