// SPDX-License-Identifier: MIT
#pragma once

#include "base/known.hpp"
#include "base/time.hpp"
#include "logbook/evidence.hpp"
#include "logbook/record.hpp"

#include <optional>
#include <string>
#include <vector>

/// What the journal has of a boot, as far as this account may read it. `root`: "" for this
/// machine's journal, else the folder whose var/log/journal and run/log/journal are read; `boot`:
/// 32 hexadecimal digits. Nothing is written, and what is read is bounded.
namespace nightlatch::tool {

struct BootLines {
    /// The kernel's lines of ext4. Known and empty: its lines are there, and none is of ext4.
    Known<std::vector<std::string>> ext4;
    std::vector<logbook::LoggedCheck> checks;  ///< systemd's, of other file systems than the root
    std::vector<std::string> last_words;       ///< which records of pstore systemd-pstore has kept
};

BootLines read_boot_lines(const std::string& root, const std::string& boot);

/// Where the login manager says that the system goes: "poweroff", "reboot", "halt", "kexec"; ""
/// unless it says so.
std::string read_target(const std::string& root, const std::string& boot);

/// Of a boot that is over. Nothing when no line of it is there. `from`: when going down began, as
/// far as others know; the login manager's own line comes first.
std::optional<logbook::Stopping> read_stopping(const std::string& root,
                                               const std::string& boot,
                                               std::optional<Instant> from);

}  // namespace nightlatch::tool
