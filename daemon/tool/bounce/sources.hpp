// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/bounce/bounce.hpp"
#include "wave/capture.hpp"

#include <optional>
#include <string>

/// The two things that a bounce is measured on, and what both need.
namespace nightlatch::tool {

struct BounceConfig {
    std::string file;
    config::Settings settings;
};

/// The configuration that was named, or where neither a line nor a capture was, the service's own;
/// else none. An error is of the person's: it cannot be read, or it is wrong.
Result<std::optional<BounceConfig>> read_bounce_config(const BounceOptions& options);

/// The intervals that the target is measured against.
void take_config(BounceTarget& target, const BounceConfig& config);

/// To standard output; gives the exit status.
int report_bounce(const BounceOptions& options, const BounceTarget& target, const BounceSeen& seen);

/// The whole of a capture. target.pressed_low says which level is pressed.
BounceSeen measure_capture(const wave::Capture& capture, const BounceTarget& target);

int bounce_on_capture(const BounceOptions& options, const std::optional<BounceConfig>& config);

int bounce_on_line(const BounceOptions& options, const std::optional<BounceConfig>& config);

}  // namespace nightlatch::tool
