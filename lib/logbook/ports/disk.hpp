// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace nightlatch::ports {

/// The folder that the logbook is in, by file names in it. What was written is safe from a loss of
/// power only after the call that says so; a call that failed may have done a part of it. One real
/// side (daemon/tool/logbook) and one that crashes on purpose (tests/support).
struct Disk {
    Disk() = default;
    Disk(const Disk&) = delete;
    Disk& operator=(const Disk&) = delete;
    virtual ~Disk() = default;

    /// The whole file; nothing when it is not there.
    virtual Result<std::optional<std::string>> read(const std::string& name) = 0;

    /// Makes the file, empty before if it was there.
    virtual Outcome put(const std::string& name, std::string_view bytes) = 0;
    virtual Outcome append(const std::string& name, std::string_view bytes) = 0;

    /// The file's bytes and its length are safe: fdatasync(2).
    virtual Outcome sync_data(const std::string& name) = 0;
    /// With all that belongs to them: fsync(2).
    virtual Outcome sync(const std::string& name) = 0;

    /// In the place of whatever had the name: rename(2). Safe after sync_folder.
    virtual Outcome rename(const std::string& from, const std::string& to) = 0;
    virtual Outcome sync_folder() = 0;
};

}  // namespace nightlatch::ports
