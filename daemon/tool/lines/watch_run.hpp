// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/gpio/gpiod.hpp"
#include "daemon/sys/event_loop.hpp"
#include "daemon/tool/lines/watch.hpp"
#include "supervisor/edge_reader.hpp"

#include <functional>
#include <memory>
#include <vector>

namespace nightlatch::tool {

/// Lines under watch on an event loop, until one has seen a whole press, the time is up, or a chip
/// goes. Holds the lines as long as it lives.
class Watching {
public:
    /// Requests all lines or, when one is not available, none. Trouble: as request_line().
    static Result<std::unique_ptr<Watching>> start(sys::EventLoop& loop,
                                                   const gpio::Places& places,
                                                   const std::vector<gpio::Wanted>& lines,
                                                   Duration time);

    ~Watching();
    Watching(const Watching&) = delete;
    Watching& operator=(const Watching&) = delete;

    /// Called once, from the loop.
    void on_end(std::function<void()> ended) { ended_ = std::move(ended); }

    /// In the order in which the lines were given.
    [[nodiscard]] const std::vector<bounce::LineWatch>& watches() const noexcept {
        return watches_;
    }

    /// Nothing while it goes on.
    [[nodiscard]] std::optional<WatchEnd> end() const noexcept { return end_; }

    /// Why it could not go on, when a chip has gone.
    [[nodiscard]] const std::optional<Error>& failure() const noexcept { return failure_; }

    void stop(WatchEnd why);

private:
    Watching(sys::EventLoop& loop, Duration time);

    Outcome add(const gpio::Places& places, const gpio::Wanted& wanted);
    Outcome drain(std::size_t index);
    Outcome settle(std::size_t index, Instant now);
    void turn();
    Outcome turn_lines(Instant now);
    void finish();

    sys::EventLoop& loop_;
    std::vector<gpio::HeldLine> lines_;
    std::vector<supervisor::EdgeReader> readers_;
    std::vector<bounce::LineWatch> watches_;
    std::vector<sys::FdWatch> readable_;
    sys::Timer timer_;
    Instant limit_;
    std::function<void()> ended_;
    std::optional<WatchEnd> end_;
    std::optional<Error> failure_;
};

}  // namespace nightlatch::tool
