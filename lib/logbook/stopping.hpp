// SPDX-License-Identifier: MIT
#pragma once

#include "logbook/record.hpp"

#include <cstdint>
#include <span>
#include <string>

/// Why a run took so long to go down: from what the service manager wrote in that boot's journal.
namespace nightlatch::logbook {

/// One line of the service manager's, by what its MESSAGE_ID or its words mean.
struct StopLine {
    enum class What : unsigned char {
        stopping,   ///< "Stopping UNIT" [sd-messages.h, SD_MESSAGE_UNIT_STOPPING]
        stopped,    ///< "Stopped UNIT" [SD_MESSAGE_UNIT_STOPPED]
        timed_out,  ///< "State 'stop-sigterm' timed out. Killing." [systemd src/core/service.c]
        reached,    ///< "Reached target UNIT" [SD_MESSAGE_UNIT_STARTED]
    };
    What what{};
    Instant at{};  ///< CLOCK_MONOTONIC of that boot
    std::string unit{};
};

/// `lines`: of one shutdown, in the order in which they were written.
Stopping stopping_of(std::span<const StopLine> lines);

}  // namespace nightlatch::logbook
