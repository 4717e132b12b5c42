// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "base/time.hpp"
#include "config/settings.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace nightlatch::guard {

/// The line that the helper at the very end of a shutdown waits for. The service, which nobody need
/// trust, writes it into its run-time directory; root's helper reads it.
struct GuardFile {
    std::string chip;     ///< the kernel's name, "gpiochip0" to "gpiochip9999"
    unsigned offset = 0;  ///< 0 to 65,535
    bool active_low = false;
    lines::Bias bias = lines::Bias::as_is;
    Duration release_interval{};  ///< 0 to 5 s; written in ms, rounded up

    bool operator==(const GuardFile&) const = default;
};

/// One line: "nightlatch-guard 1 gpiochip0 5 active-low pull-up 160\n" (version, chip, offset,
/// polarity, bias, release interval in ms).
std::string guard_text(const GuardFile& file);

/// Reads back exactly what guard_text() writes of values within range; anything else gives nothing.
std::optional<GuardFile> parse_guard_text(std::string_view text);

/// Puts the file in place whole, or leaves none: the line of the one before is not to be waited for
/// any more. Trouble: other.
Outcome write_guard_file(const std::string& path, const GuardFile& file);

/// Nothing is to be waited for.
void remove_guard_file(const std::string& path) noexcept;

/// Distrusts what it finds: no symbolic link, nothing but a small regular file.
/// The error says what was odd. Trouble: other.
Result<GuardFile> read_guard_file(const std::string& path);

}  // namespace nightlatch::guard
