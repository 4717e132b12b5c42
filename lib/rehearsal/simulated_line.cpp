// SPDX-License-Identifier: MIT
#include "rehearsal/simulated_line.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::rehearsal {
namespace {

Error gone() {
    return {Trouble::gone, "the simulated chip vanished"};
}

}  // namespace

SimulatedLine::SimulatedLine(PressScript script,
                             const ports::Clock& clock,
                             std::function<void(Instant, const ScriptStep&)> told)
    : script_(std::move(script)), clock_(clock), told_(std::move(told)), start_(clock.now()),
      level_(script_.level_at_start) {}

Result<ports::LineFacts> SimulatedLine::open(const ports::LineRequest& request) {
    play();
    if (!present_) {
        return Unexpected{Error{Trouble::no_chip, "the simulated chip is not there"}};
    }
    open_ = true;
    seqno_ = 0;
    queue_.clear();
    return ports::LineFacts{
        "simulated chip for " + request.where.chip, 0, request.where.line, false};
}

void SimulatedLine::close() noexcept {
    open_ = false;
    queue_.clear();
}

Result<std::size_t> SimulatedLine::drain(std::span<ports::LineEvent> into) {
    play();
    if (!present_) {
        return Unexpected{gone()};
    }
    const std::size_t count = std::min(into.size(), queue_.size());
    const auto end = queue_.begin() + static_cast<std::ptrdiff_t>(count);
    std::copy(queue_.begin(), end, into.begin());
    queue_.erase(queue_.begin(), end);
    return count;
}

Result<Level> SimulatedLine::level() {
    play();
    if (!present_) {
        return Unexpected{gone()};
    }
    return level_;
}

Instant SimulatedLine::next_step() const noexcept {
    return next_ < script_.events.size() ? start_ + script_.events[next_].at : never;
}

bool SimulatedLine::play() {
    const Instant now = clock_.now();
    while (next_step() <= now) {
        const Instant at = next_step();
        const ScriptStep& step = script_.events[next_++].step;
        if (told_) {
            told_(at, step);
        }
        std::visit([&](const auto& what) { perform(at, what); }, step);
    }
    return std::exchange(changed_, false);
}

void SimulatedLine::add(const std::vector<ScriptEvent>& steps) {
    // What has been played is of no more use: a run by hand may last for days.
    script_.events.erase(script_.events.begin(),
                         script_.events.begin() + static_cast<std::ptrdiff_t>(next_));
    next_ = 0;
    const Duration base = clock_.now() - start_;
    for (ScriptEvent step : steps) {
        step.at += base;
        const auto place =
            std::upper_bound(script_.events.begin(),
                             script_.events.end(),
                             step.at,
                             [](Duration at, const auto& other) { return at < other.at; });
        script_.events.insert(place, std::move(step));
    }
}

void SimulatedLine::queue(const ports::LineEvent& event) {
    if (queue_.size() == kernel_buffer) {
        queue_.erase(queue_.begin());
    }
    queue_.push_back(event);
}

void SimulatedLine::perform(Instant at, const ButtonMoves& moves) {
    if (moves.level == level_) {
        return;
    }
    level_ = moves.level;
    if (!open_ || !present_) {
        return;
    }
    ++seqno_;
    if (drop_ > 0) {
        --drop_;
        return;
    }
    queue({at, level_, seqno_});
}

void SimulatedLine::perform(Instant, const ChipFault& fault) {
    present_ = fault == ChipFault::comes_back;
    changed_ = true;
}

void SimulatedLine::perform(Instant, const DropEvents& drop) {
    drop_ += drop.count;
}

}  // namespace nightlatch::rehearsal
