// SPDX-License-Identifier: MIT
#pragma once

#include "rehearsal/press_script.hpp"
#include "supervisor/ports/button_line.hpp"
#include "supervisor/ports/clock.hpp"

#include <functional>
#include <vector>

namespace nightlatch::rehearsal {

/// The simulated side of ButtonLine: a press script played on whatever clock it is given, with the
/// kernel's habits: a queue of 1,024 events that drops the oldest, sequence numbers that show it, a
/// chip that can vanish [linux Documentation/userspace-api/gpio/gpio-v2-line-event-read.rst].
class SimulatedLine final : public ports::ButtonLine {
public:
    /// The script begins at `start`. `told` hears of each step as it happens; may be empty.
    SimulatedLine(PressScript script,
                  const ports::Clock& clock,
                  std::function<void(Instant, const ScriptStep&)> told);

    Result<ports::LineFacts> open(const ports::LineRequest& request) override;
    void close() noexcept override;
    Result<std::size_t> drain(std::span<ports::LineEvent> into) override;
    Result<Level> level() override;

    /// When the script's next step is due; never after the last.
    [[nodiscard]] Instant next_step() const noexcept;
    /// Plays what is due. True when the chip came back or vanished: time for App::chips_changed().
    bool play();
    /// Steps to add, counted from now (typed by hand).
    void add(const std::vector<ScriptEvent>& steps);

    /// Where the button stands, whether or not the chip is there to tell.
    [[nodiscard]] Level button() const noexcept { return level_; }

    [[nodiscard]] Instant start() const noexcept { return start_; }

    [[nodiscard]] Instant end() const noexcept { return start_ + script_.end; }

private:
    static constexpr std::size_t kernel_buffer = 1'024;

    void queue(const ports::LineEvent& event);
    void perform(Instant at, const ButtonMoves& moves);
    void perform(Instant at, const ChipFault& fault);
    void perform(Instant at, const DropEvents& drop);

    /// What is not done to the line itself.
    template <class Other>
    void perform(Instant /*at*/, const Other& /*step*/) {}

    PressScript script_;
    const ports::Clock& clock_;
    std::function<void(Instant, const ScriptStep&)> told_;
    Instant start_;
    std::size_t next_ = 0;
    Level level_;
    bool present_ = true;
    bool open_ = false;
    bool changed_ = false;
    std::uint32_t drop_ = 0;
    std::uint64_t seqno_ = 0;
    std::vector<ports::LineEvent> queue_;  ///< grows only as it fills, for it hardly ever does
};

}  // namespace nightlatch::rehearsal
