// SPDX-License-Identifier: MIT
#pragma once

#include "config/load.hpp"
#include "daemon/sys/config_file.hpp"
#include "daemon/sys/event_loop.hpp"
#include "daemon/sys/folder_watch.hpp"
#include "supervisor/event.hpp"
#include "supervisor/ports/journal.hpp"
#include "supervisor/published.hpp"

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::service {

/// What came of reading the configuration's file.
struct ConfigRead {
    std::string file;
    std::optional<config::Settings> settings;  ///< nothing when it is bad
    std::optional<Error> unread;               ///< why there is no text to look at
    config::Diagnostics diagnostics;
    std::vector<config::Feedback> feedback;  ///< of a bad one: what can still show that it is

    /// Reading it again may help, without anybody having changed it.
    [[nodiscard]] bool may_pass() const noexcept {
        return unread && unread->trouble != Trouble::unsupported;
    }
};

ConfigRead read_config(const std::string& file, sys::TrustPolicy trust);

/// Every problem, one line each.
void tell(ports::Journal& journal, const ConfigRead& read);

/// For a status line: what is bad, and where; empty when nothing is.
std::string trouble_of(const ConfigRead& read);

/// Whether the file, as it stands on disk, could be taken over, and would change anything; it is
/// looked at when it changes.
class ConfigOnDisk {
public:
    /// `changed` is called when state() or trouble() is another.
    ConfigOnDisk(sys::EventLoop& loop,
                 std::string file,
                 sys::TrustPolicy trust,
                 std::function<void()> changed);

    /// Watches the file's folder; again, when that may be another one now.
    Outcome watch();

    [[nodiscard]] const std::string& trouble() const noexcept { return trouble_; }

    [[nodiscard]] supervisor::OnDisk state() const noexcept { return state_; }

    /// It was read just now, and this is what it says and what is in force.
    void in_force(supervisor::SettingsInForce settings);

    /// Somebody else has read it.
    void take(const ConfigRead& read);

private:
    void look();

    std::string file_;
    sys::TrustPolicy trust_;
    std::function<void()> changed_;
    std::optional<sys::FolderWatch> folder_;
    sys::FdWatch watch_;
    supervisor::SettingsInForce in_force_;
    supervisor::OnDisk state_ = supervisor::OnDisk::same;
    std::string trouble_;
};

}  // namespace nightlatch::service
