// SPDX-License-Identifier: MIT
#pragma once

#include "base/known.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::facts {

/// What the kernel said about its post-halt driver or another power-off handler, newest last, the
/// last 50 of them: from <root>/dev/kmsg, without waiting [linux
/// Documentation/ABI/testing/dev-kmsg]. A log whose beginning has been overwritten and that says
/// nothing of it is missing: what was said at boot is gone.
Known<std::vector<std::string>> read_power_off_log(const std::string& root);

struct LogRecord {
    unsigned long long number = 0;  ///< of the record, from 0 at boot
    std::string text;
};

/// "6,339,5140900,-;text"; nothing for a continuation line or what is not a record.
std::optional<LogRecord> log_record(std::string_view line);

/// Does the text speak of the driver, or of whoever else takes the power-off?
bool is_about_power_off(std::string_view text);

}  // namespace nightlatch::facts
