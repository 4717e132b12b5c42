// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/gpio/gpiod.hpp"
#include "daemon/sys/event_loop.hpp"
#include "daemon/tool/bounce/bounce.hpp"
#include "supervisor/edge_reader.hpp"

#include <functional>
#include <memory>
#include <vector>

namespace nightlatch::tool {

/// What is asked of a measurement on a line.
struct BouncePlan {
    std::size_t presses = 10;
    Duration time{};  ///< from the moment the person is asked to press
    Duration quiet{};
    std::optional<bool> pressed_low;  ///< else the other level than that at rest
    std::optional<bounce::Intervals> configured;
    bool record = false;  ///< keep every edge
};

/// A measurement on an event loop. First the line must be at rest for a second with nobody
/// pressing, within 5 s; then presses count, until there are enough, the time is up, the line turns
/// out to float, or its chip goes. Holds the line until then.
class Bouncing {
public:
    static constexpr Duration rest_time = std::chrono::seconds(1);
    static constexpr Duration rest_limit = std::chrono::seconds(5);
    static constexpr Duration longest_episode = std::chrono::seconds(5);
    static constexpr std::size_t most_recorded = 1U << 18U;  ///< edges

    /// Trouble: as request_line(). `wanted` asks for the electrical level.
    static Result<std::unique_ptr<Bouncing>> start(sys::EventLoop& loop,
                                                   const gpio::Places& places,
                                                   const gpio::Wanted& wanted,
                                                   const BouncePlan& plan);

    ~Bouncing();
    Bouncing(const Bouncing&) = delete;
    Bouncing& operator=(const Bouncing&) = delete;

    /// Called from the loop: when the line is at rest and presses count, and after each episode.
    void on_step(std::function<void()> step) { step_ = std::move(step); }

    /// Called once, from the loop.
    void on_end(std::function<void()> ended) { ended_ = std::move(ended); }

    /// Presses count from now on.
    [[nodiscard]] bool asking() const noexcept { return measure_.has_value(); }

    /// As far as it has come; whole once it has ended.
    [[nodiscard]] const BounceSeen& seen() const noexcept { return seen_; }

    /// Which level is pressed; a guess until presses count.
    [[nodiscard]] bool pressed_low() const noexcept { return pressed_low_; }

    /// The chip is behind a bus: edges come late.
    [[nodiscard]] bool sleeps() const noexcept { return sleeps_; }

    [[nodiscard]] bool ended() const noexcept { return ended_already_; }

    /// Why it could not go on, when the chip has gone.
    [[nodiscard]] const std::optional<Error>& failure() const noexcept { return failure_; }

    /// Every edge since presses count, active meaning pressed, with plan.record.
    [[nodiscard]] const std::vector<core::Sample>& recorded() const noexcept { return recorded_; }

    /// Presses counted from `first` to `second`.
    [[nodiscard]] std::pair<Instant, Instant> span() const noexcept { return {begin_, now_}; }

    void stop(BounceEnd why);

private:
    Bouncing(sys::EventLoop& loop, const BouncePlan& plan);

    Outcome open(const gpio::Places& places, const gpio::Wanted& wanted);
    void turn();
    Outcome turn_line();
    Outcome drain();
    void take(const ports::LineEvent& event, std::uint64_t dropped);
    Outcome wait_for_rest();
    Outcome settle();
    void sample(const core::Sample& sample);
    void episode(const std::optional<bounce::BounceEpisode>& episode);
    [[nodiscard]] Level pressed(Level electrical) const noexcept;
    [[nodiscard]] std::optional<BounceEnd> over() const noexcept;
    [[nodiscard]] Instant next() const noexcept;
    void finish();

    sys::EventLoop& loop_;
    BouncePlan plan_;
    gpio::HeldLine line_;
    sys::FdWatch readable_;
    sys::Timer timer_;
    Instant opened_;
    Instant last_edge_;                    ///< or opened_
    Instant begin_;                        ///< presses count from here
    Instant now_;                          ///< of the last turn
    std::optional<Instant> contradicted_;  ///< since when no edge explains the level
    supervisor::EdgeReader reader_;
    bool pressed_low_;
    bool sleeps_ = false;
    std::optional<bounce::BounceMeasure> measure_;
    BounceSeen seen_;
    std::vector<core::Sample> recorded_;
    std::optional<BounceEnd> end_;
    std::optional<Error> failure_;
    bool ended_already_ = false;
    std::function<void()> step_;
    std::function<void()> ended_;
};

}  // namespace nightlatch::tool
