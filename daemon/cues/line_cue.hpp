// SPDX-License-Identifier: MIT
#pragma once

#include "core/looks.hpp"
#include "daemon/cues/cue_output.hpp"
#include "daemon/cues/tries.hpp"
#include "daemon/sys/event_loop.hpp"
#include "supervisor/ports/journal.hpp"

#include <functional>
#include <optional>
#include <string>

namespace nightlatch::cues {

/// A GPIO line that can be driven: gpio::OutputLine, or a record of levels.
struct DrivenLine {
    std::function<Outcome()> open;  ///< requests it, driven inactive
    std::function<Outcome(Level)> set;
    std::function<void()> close;
};

struct LineSettings {
    std::string name;  ///< for people
    core::Looks looks;
    Patience patience = {};
};

/// Shows cues on a GPIO line: a lamp, a buzzer. Every change of level is ours to make, so it wakes
/// us for blinks and pulses, and only while such a cue is shown. A line that is not available, or
/// is gone, is told once and tried again (Tries).
class LineCue final : public CueOutput {
public:
    LineCue(sys::EventLoop& loop, ports::Journal& journal, DrivenLine line, LineSettings settings);

    void show(const core::Cue& cue) override;

    /// stopped: driven inactive. shutdown: a steady level stays until the kernel lets the line go;
    /// a blink or pulse ends inactive, for a buzzer must not be left sounding.
    void finish(Farewell farewell) override;

private:
    void update();
    Outcome drive(Level level);
    void failed(const Error& error, Instant now);

    sys::EventLoop& loop_;
    ports::Journal& journal_;
    DrivenLine line_;
    LineSettings settings_;
    sys::Timer timer_;
    Tries tries_;

    core::Pattern pattern_;
    std::optional<Instant> since_;  ///< when the pattern was first seen; not yet: none
    bool open_ = false;
};

}  // namespace nightlatch::cues
