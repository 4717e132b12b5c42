// SPDX-License-Identifier: MIT
#include "daemon/tool/bounce/run.hpp"

#include "core/limits.hpp"

#include <algorithm>

namespace nightlatch::tool {
namespace {

/// How late an edge may come after the level that it made could be read, as the service has it.
constexpr Duration edge_comes = core::limits::contradiction_patience;

}  // namespace

Bouncing::Bouncing(sys::EventLoop& loop, const BouncePlan& plan)
    : loop_(loop), plan_(plan), readable_(loop.fd_watch([this](sys::FdReady) { turn(); })),
      timer_(loop.timer([this] { turn(); })), opened_(loop.now()), last_edge_(opened_),
      begin_(never), now_(opened_), pressed_low_(plan.pressed_low.value_or(true)) {}

Bouncing::~Bouncing() {
    finish();
}

Result<std::unique_ptr<Bouncing>> Bouncing::start(sys::EventLoop& loop,
                                                  const gpio::Places& places,
                                                  const gpio::Wanted& wanted,
                                                  const BouncePlan& plan) {
    std::unique_ptr<Bouncing> bouncing(new Bouncing(loop, plan));
    if (const Outcome opened = bouncing->open(places, wanted); !opened) {
        return Unexpected{opened.error()};
    }
    return bouncing;
}

Outcome Bouncing::open(const gpio::Places& places, const gpio::Wanted& wanted) {
    Result<gpio::OpenedLine> opened = gpio::request_line(places, wanted);
    if (!opened) {
        return Unexpected{opened.error()};
    }
    line_ = std::move(opened->line);
    sleeps_ = opened->facts.sleeps;
    if (Outcome started = readable_.start(gpio::fd_of(*line_)); !started) {
        return started;
    }
    opened_ = loop_.now();
    last_edge_ = opened_;
    timer_.arm(next());
    return std::monostate{};
}

Level Bouncing::pressed(Level electrical) const noexcept {
    return pressed_low_ ? !electrical : electrical;
}

void Bouncing::turn() {
    if (end_) {
        return;
    }
    now_ = loop_.now();
    if (const Outcome turned = turn_line(); !turned) {
        failure_ = turned.error();
        stop(BounceEnd::signal);
    } else if (const auto why = over()) {
        stop(*why);
    } else {
        timer_.arm(next());
    }
}

Outcome Bouncing::turn_line() {
    if (Outcome drained = drain(); !drained) {
        return drained;
    }
    return measure_ ? settle() : wait_for_rest();
}

Outcome Bouncing::drain() {
    const auto drained = reader_.drain(
        [this](std::span<ports::LineEvent> into) { return gpio::read_edges(*line_, into); },
        [this](const ports::LineEvent& event, std::uint64_t dropped) { take(event, dropped); });
    if (!drained) {
        return Unexpected{drained.error()};
    }
    return std::monostate{};
}

void Bouncing::take(const ports::LineEvent& event, std::uint64_t dropped) {
    last_edge_ = std::max(last_edge_, event.stamp);
    const auto lost = static_cast<std::size_t>(dropped);  // the kernel counts in 32 bits
    if (!measure_) {
        seen_.unasked += 1 + lost;
        return;
    }
    measure_->lost(lost);
    sample({event.stamp, pressed(event.level)});
}

void Bouncing::sample(const core::Sample& sample) {
    if (plan_.record && recorded_.size() < most_recorded) {
        recorded_.push_back(sample);
    }
    if (seen_.trial) {
        seen_.trial->sample(sample);
    }
    episode(measure_->sample(sample));
}

/// At rest for a second, at the released level where it is known: the person is asked to press.
Outcome Bouncing::wait_for_rest() {
    if (now_ < last_edge_ + rest_time) {
        return std::monostate{};
    }
    const Result<Level> level = gpio::read_level(*line_);
    if (!level) {
        return Unexpected{level.error()};
    }
    if (!plan_.pressed_low) {
        pressed_low_ = *level == Level::active;
    }
    if (pressed(*level) == Level::active) {
        return std::monostate{};
    }
    begin_ = now_;
    measure_.emplace(now_, Level::inactive, plan_.quiet);
    if (plan_.configured) {
        seen_.trial.emplace(*plan_.configured, now_, Level::inactive);
    }
    recorded_.reserve(plan_.record ? std::size_t{1024} : 0);
    if (step_) {
        step_();
    }
    return std::monostate{};
}

/// Lost edges must not end an episode at a level that the line no longer has. A level that
/// contradicts may be that of an edge that is just on its way.
Outcome Bouncing::settle() {
    if (measure_->deadline() > now_) {
        contradicted_.reset();
        return std::monostate{};
    }
    const Result<Level> level = gpio::read_level(*line_);
    if (!level) {
        return Unexpected{level.error()};
    }
    if (pressed(*level) == measure_->raw()) {
        contradicted_.reset();
        episode(measure_->advance(now_));
    } else if (!contradicted_) {
        contradicted_ = now_;
    } else if (now_ >= *contradicted_ + edge_comes) {
        contradicted_.reset();
        measure_->resync(now_, pressed(*level));
        if (seen_.trial) {
            seen_.trial->sample({now_, pressed(*level)});
        }
        seen_.report = measure_->report();
    }
    return std::monostate{};
}

void Bouncing::episode(const std::optional<bounce::BounceEpisode>& episode) {
    seen_.report = measure_->report();
    if (!episode) {
        return;
    }
    seen_.take(*episode);
    if (step_) {
        step_();
    }
}

std::optional<BounceEnd> Bouncing::over() const noexcept {
    if (!measure_) {
        if (now_ < opened_ + rest_limit) {
            return std::nullopt;
        }
        return now_ < last_edge_ + rest_time ? BounceEnd::floats : BounceEnd::pressed;
    }
    if (seen_.report.storm) {
        return BounceEnd::floats;
    }
    if (seen_.report.whole() >= plan_.presses) {
        return BounceEnd::enough;
    }
    if (const auto since = measure_->under_way(); since && now_ >= *since + longest_episode) {
        return BounceEnd::restless;
    }
    return now_ >= begin_ + plan_.time ? std::optional(BounceEnd::time) : std::nullopt;
}

Instant Bouncing::next() const noexcept {
    if (!measure_) {
        const Instant rested = last_edge_ + rest_time;
        return rested > now_ ? std::min(rested, opened_ + rest_limit) : opened_ + rest_limit;
    }
    const auto since = measure_->under_way();
    const Instant too_long = since ? *since + longest_episode : never;
    const Instant settles = contradicted_ ? *contradicted_ + edge_comes : measure_->deadline();
    return std::min({settles, begin_ + plan_.time, too_long});
}

void Bouncing::stop(BounceEnd why) {
    if (end_) {
        return;
    }
    end_ = why;
    seen_.end = why;
    if (measure_ && why == BounceEnd::restless) {
        episode(measure_->finish(now_));
    }
    if (seen_.trial) {
        seen_.trial->finish();
    }
    finish();
    ended_already_ = true;
    if (ended_) {
        ended_();
    }
}

void Bouncing::finish() {
    timer_.disarm();
    readable_.stop();
    line_.reset();
}

}  // namespace nightlatch::tool
