// SPDX-License-Identifier: MIT
#pragma once

#include "core/input.hpp"
#include "supervisor/ports/button_line.hpp"

#include <memory>

namespace nightlatch::ports {

/// Where the lines of the alarms come from: as many as the configuration has, which a reload
/// changes.
struct MoreLines {
    MoreLines() = default;
    MoreLines(const MoreLines&) = delete;
    MoreLines& operator=(const MoreLines&) = delete;
    virtual ~MoreLines() = default;

    /// A line that is not open yet. An earlier one of the same index has been closed by then, and
    /// is no more.
    virtual std::unique_ptr<ButtonLine> make(core::LineIndex line) = 0;
};

}  // namespace nightlatch::ports
