// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/guard/guard_file.hpp"
#include "supervisor/app.hpp"
#include "supervisor/event.hpp"
#include "supervisor/ports/journal.hpp"

#include <optional>
#include <string>

namespace nightlatch::guard {

/// Keeps the guard file true: it is there exactly while there is a line to wait for. Nothing is to
/// be waited for where the button acts at the threshold, nor for a button that is known to be
/// stuck, nor on a line that was lost: another chip may soon have its number.
class GuardKeeper final : public supervisor::Follower {
public:
    GuardKeeper(std::string path, ports::Journal& journal, supervisor::SettingsInForce settings)
        : path_(std::move(path)), journal_(journal), settings_(std::move(settings)) {}

    /// Before the reload that they come with is told.
    void take(supervisor::SettingsInForce settings) { settings_ = std::move(settings); }

    /// The service ends: what stands now is what the helper will read.
    void leave_standing() noexcept { ended_ = true; }

    void happened(const supervisor::Event& event) override;

private:
    [[nodiscard]] std::optional<GuardFile> wanted() const;
    void bring_up_to_date();

    std::string path_;
    ports::Journal& journal_;
    supervisor::SettingsInForce settings_;
    std::optional<supervisor::LineOpened> line_;  ///< while it is open
    bool stuck_ = false;
    bool ended_ = false;
    bool up_to_date_ = false;         ///< not before the first event: an earlier run's may be there
    std::optional<GuardFile> tried_;  ///< what the file was last to say, also when that failed
};

}  // namespace nightlatch::guard
