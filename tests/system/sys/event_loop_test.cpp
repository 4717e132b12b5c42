// SPDX-License-Identifier: MIT
#include "daemon/sys/event_loop.hpp"
#include "kernel_timer.hpp"
#include "notify_socket.hpp"

#include <algorithm>
#include <array>
#include <csignal>
#include <cstdlib>
#include <string>
#include <vector>

#include <catch2/catch_test_macros.hpp>
#include <fcntl.h>
#include <unistd.h>

namespace nightlatch::sys {
namespace {

using namespace std::chrono_literals;

std::unique_ptr<EventLoop> make_loop() {
    auto loop = EventLoop::open();
    REQUIRE(loop);
    return std::move(loop.value());
}

/// A loop that never comes to its end fails its test after ten seconds instead of hanging it.
int run(EventLoop& loop) {
    Timer patience = loop.timer([] { FAIL("the loop waited for something that never came"); });
    patience.arm(loop.now() + 10s);
    auto code = loop.run();
    REQUIRE(code);
    return *code;
}

struct Pipe {
    Pipe() { REQUIRE(pipe2(ends.data(), O_CLOEXEC | O_NONBLOCK) == 0); }

    Pipe(const Pipe&) = delete;
    Pipe& operator=(const Pipe&) = delete;

    ~Pipe() {
        close(ends[0]);
        close_writer();
    }

    void put() const { REQUIRE(write(ends[1], "x", 1) == 1); }

    void take() const {
        char one = 0;
        REQUIRE(read(ends[0], &one, 1) == 1);
    }

    void close_writer() {
        if (ends[1] >= 0) {
            close(ends[1]);
        }
        ends[1] = -1;
    }

    std::array<int, 2> ends{-1, -1};
};

TEST_CASE("run gives back the code that exit was given", "[loop]") {
    auto loop = make_loop();
    Deferred leave = loop->deferred([&] { loop->exit(7); });
    leave.post();
    CHECK(run(*loop) == 7);
}

TEST_CASE("an alarm is never early, at any fraction of a microsecond", "[loop]") {
    auto loop = make_loop();
    Instant asked{};
    Duration earliest = Duration::max();
    int left = 200;
    Timer* again = nullptr;
    Timer timer = loop->timer([&] {
        earliest = std::min(earliest, loop->now() - asked);
        if (--left == 0) {
            loop->exit(0);
            return;
        }
        asked = loop->now() + 100us + std::chrono::nanoseconds{left * 5};
        again->arm(asked);
    });
    again = &timer;
    asked = loop->now() + 1ms;
    timer.arm(asked);
    run(*loop);
    CHECK(earliest >= 0ns);
}

TEST_CASE("an alarm comes within 100 ms, not with the 250 ms that sd-event takes by default",
          "[loop]") {
    auto loop = make_loop();
    // One quick arrival out of five is enough: a loaded machine delays some, slack delays all.
    Duration least = Duration::max();
    int left = 5;
    Instant asked{};
    Timer* again = nullptr;
    Timer timer = loop->timer([&] {
        least = std::min(least, loop->now() - asked);
        if (--left == 0) {
            loop->exit(0);
            return;
        }
        asked = loop->now() + 3ms;
        again->arm(asked);
    });
    again = &timer;
    asked = loop->now() + 3ms;
    timer.arm(asked);
    run(*loop);
    CHECK(least < 100ms);
}

TEST_CASE("an alarm armed again forgets its earlier instant", "[loop]") {
    auto loop = make_loop();
    int calls = 0;
    Timer timer = loop->timer([&] { ++calls; });
    Timer end = loop->timer([&] { loop->exit(0); });
    const Instant start = loop->now();
    timer.arm(start + 5ms);
    timer.arm(start + 15ms);
    end.arm(start + 30ms);
    run(*loop);
    CHECK(calls == 1);
}

TEST_CASE("an alarm for an instant that is past comes at once, and one for never does not",
          "[loop]") {
    auto loop = make_loop();
    int due = 0;
    Timer past = loop->timer([&] {
        ++due;
        loop->exit(0);
    });
    Timer not_ever = loop->timer([&] { FAIL("never came"); });
    past.arm(Instant{});
    not_ever.arm(loop->now() + 1ms);
    not_ever.arm(never);
    run(*loop);
    CHECK(due == 1);
}

TEST_CASE("an alarm that was taken back leaves no wake-up behind", "[loop]") {
    auto loop = make_loop();
    Timer timer = loop->timer([] { FAIL("a disarmed timer called"); });
    bool set_while_armed = false;
    bool set_when_taken_back = true;
    Deferred look_again = loop->deferred([&] {
        set_when_taken_back = test::kernel_timer_is_set();
        loop->exit(0);
    });
    Deferred look = loop->deferred([&] {
        set_while_armed = test::kernel_timer_is_set();
        timer.disarm();
        look_again.post();
    });
    timer.arm(loop->now() + 1h);
    look.post();
    REQUIRE(loop->run());
    CHECK(set_while_armed);
    CHECK_FALSE(set_when_taken_back);
}

TEST_CASE("what is called each turn is called after the others, while it is on, and wakes nobody",
          "[loop]") {
    auto loop = make_loop();
    std::string order;
    Deferred work = loop->deferred([&] { order += 'w'; });
    EachTurn each = loop->each_turn([&] { order += 'e'; });
    work.post();
    REQUIRE(loop->turn(0ms));
    REQUIRE(loop->turn(0ms));
    CHECK(order == "w");
    each.on();
    REQUIRE(loop->turn(20ms));  // nothing else happens
    CHECK(order == "w");
    for (int i = 0; i < 2; ++i) {
        work.post();
        REQUIRE(loop->turn(0ms));
        REQUIRE(loop->turn(0ms));
    }
    CHECK(order == "wwewe");
    each.off();
    work.post();
    REQUIRE(loop->turn(0ms));
    REQUIRE(loop->turn(0ms));
    CHECK(order == "wwewew");
}

TEST_CASE("a watched descriptor reports data, the other side's end, and nothing after stop",
          "[loop]") {
    auto loop = make_loop();
    Pipe pipe;
    std::vector<std::string> seen;
    FdWatch* self = nullptr;
    FdWatch watch = loop->fd_watch([&](FdReady ready) {
        if (ready.readable) {
            pipe.take();
            seen.emplace_back("data");
            pipe.close_writer();
            return;
        }
        seen.emplace_back(ready.hung_up ? "end" : "?");
        self->stop();  // level-triggered: without it the end is reported again and again
        loop->exit(0);
    });
    self = &watch;
    REQUIRE(watch.start(pipe.ends[0]));
    pipe.put();
    run(*loop);
    CHECK(seen == std::vector<std::string>{"data", "end"});
}

TEST_CASE("a watch started on another descriptor leaves the first", "[loop]") {
    auto loop = make_loop();
    Pipe first;
    Pipe second;
    int calls = 0;
    FdWatch watch = loop->fd_watch([&](FdReady) {
        ++calls;
        second.take();
        loop->exit(0);
    });
    REQUIRE(watch.start(first.ends[0]));
    REQUIRE(watch.start(second.ends[0]));
    first.put();
    second.put();
    run(*loop);
    CHECK(calls == 1);
}

TEST_CASE("a descriptor that cannot be polled is refused with a sentence", "[loop]") {
    auto loop = make_loop();
    FdWatch watch = loop->fd_watch([](FdReady) {});
    const int fd = open("/etc/passwd", O_RDONLY | O_CLOEXEC);
    REQUIRE(fd >= 0);
    auto outcome = watch.start(fd);
    close(fd);
    REQUIRE_FALSE(outcome);
    CHECK(outcome.error().text.find("cannot watch a file descriptor") == 0);
}

TEST_CASE("a deferred call comes once however often it was posted, and not from inside post()",
          "[loop]") {
    auto loop = make_loop();
    int calls = 0;
    Deferred deferred = loop->deferred([&] { ++calls; });
    Deferred dropped = loop->deferred([] { FAIL("a cancelled call came"); });
    Timer end = loop->timer([&] { loop->exit(0); });
    deferred.post();
    deferred.post();
    dropped.post();
    dropped.cancel();
    CHECK(calls == 0);
    end.arm(loop->now() + 5ms);
    run(*loop);
    CHECK(calls == 1);
}

TEST_CASE("SIGTERM, SIGINT and SIGHUP come from the loop, by number", "[loop]") {
    auto loop = make_loop();
    std::vector<int> seen;
    REQUIRE(loop->on_signal([&](int number) {
        seen.push_back(number);
        if (seen.size() == 3) {
            loop->exit(0);
        }
    }));
    for (const int number : {SIGTERM, SIGINT, SIGHUP}) {
        REQUIRE(raise(number) == 0);
    }
    run(*loop);
    std::sort(seen.begin(), seen.end());
    CHECK(seen == std::vector<int>{SIGHUP, SIGINT, SIGTERM});
}

TEST_CASE("the watchdog is fed by the turning loop, again and again", "[loop]") {
    const test::NotifySocket manager;
    const test::Environment socket{"NOTIFY_SOCKET", manager.address()};
    const test::Environment interval{"WATCHDOG_USEC", "20000"};
    const test::Environment who{"WATCHDOG_PID", std::to_string(getpid())};
    auto loop = make_loop();
    int pings = 0;
    FdWatch watch = loop->fd_watch([&](FdReady) {
        CHECK(manager.receive() == "WATCHDOG=1");
        if (++pings == 3) {
            loop->exit(0);
        }
    });
    REQUIRE(watch.start(manager.fd()));
    REQUIRE(loop->start_watchdog());
    run(*loop);
    CHECK(pings == 3);
}

TEST_CASE("without a watchdog in the environment nothing is started and nothing fails", "[loop]") {
    REQUIRE(std::getenv("WATCHDOG_USEC") == nullptr);
    CHECK(make_loop()->start_watchdog());
}

TEST_CASE("the time spent suspended is steady while the machine runs", "[loop]") {
    auto loop = make_loop();
    Duration least = Duration::max();
    Duration most = Duration::min();
    for (int i = 0; i < 1000; ++i) {
        const Duration now = loop->suspended();
        least = std::min(least, now);
        most = std::max(most, now);
    }
    CHECK(least > -1ms);
    CHECK(most - least < 10ms);
}

}  // namespace
}  // namespace nightlatch::sys
