// SPDX-License-Identifier: MIT
#pragma once

#include "core/looks.hpp"
#include "daemon/cues/cue_output.hpp"
#include "daemon/cues/led_plan.hpp"
#include "daemon/cues/tries.hpp"
#include "daemon/sys/event_loop.hpp"
#include "supervisor/ports/journal.hpp"

#include <optional>
#include <string>

namespace nightlatch::cues {

struct LedSettings {
    std::string name;  ///< under the root
    core::Looks looks;
    std::string root = "/sys/class/leds";
    Patience patience = {};
};

/// Shows cues on an LED of the kernel's LED class.
///
/// What cannot be written is tried again (Tries): at start, and after the timer trigger was set,
/// the files are root's until udev has worked through the event. Never blocks on any of it.
class LedCue final : public CueOutput {
public:
    LedCue(sys::EventLoop& loop, ports::Journal& journal, LedSettings settings);

    void show(const core::Cue& cue) override;

    /// stopped: gives back the trigger and the brightness found at the first show(). Otherwise the
    /// cue stays; one blinked by us stays lit, for the kernel will not go on with it.
    void finish(Farewell farewell) override;

private:
    struct Failure {
        int number;  ///< errno
        std::string path;
    };

    void update();
    std::optional<Failure> take_over();
    [[nodiscard]] std::optional<Failure> write_all(const std::vector<FileText>& writes) const;
    void failed(const Failure& failure, Instant now);
    bool drive_by_hand();
    [[nodiscard]] std::string path_of(std::string_view file) const;

    sys::EventLoop& loop_;
    ports::Journal& journal_;
    LedSettings settings_;
    sys::Timer timer_;
    Tries tries_;

    core::Pattern pattern_;
    std::optional<Instant> since_;  ///< when the pattern was first seen; not yet: none
    std::optional<LedFound> found_;
    LedWay way_;
    bool taken_over_ = false;
};

}  // namespace nightlatch::cues
