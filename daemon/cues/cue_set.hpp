// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "daemon/cues/cue_output.hpp"
#include "daemon/sys/event_loop.hpp"
#include "supervisor/ports/journal.hpp"

#include <memory>
#include <string>
#include <vector>

namespace nightlatch::cues {

/// Every [[feedback]] of a configuration as one output. At a reload the old set is finished before
/// the new one shows anything: they may share an LED or a line.
class CueSet final : public CueOutput {
public:
    /// `leds`: the folder of the kernel's LED class; another than this only in tests.
    CueSet(sys::EventLoop& loop,
           ports::Journal& journal,
           const std::vector<config::Feedback>& feedback,
           const std::string& leds = "/sys/class/leds");

    void show(const core::Cue& cue) override;
    void finish(Farewell farewell) override;

private:
    std::vector<std::unique_ptr<CueOutput>> outputs_;
};

}  // namespace nightlatch::cues
