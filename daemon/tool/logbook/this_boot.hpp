// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/logbook/boot_journal.hpp"
#include "logbook/record.hpp"

#include <string>
#include <vector>

/// What this boot says of itself and of the run before. `root`: "" for this machine, else a folder
/// that holds a test's made files.
namespace nightlatch::tool {

/// "6.12.41 #1 SMP …": the kernel's release and build [uname(2)].
std::string kernel_now();

/// The clocks. The time of day is there only if it can be right: the kernel is disciplined by
/// another clock [adjtimex(2), STA_UNSYNC], or had it from a clock that runs while the board is off
/// and still agrees with it [linux Documentation/ABI/testing/sysfs-class-rtc, hctosys,
/// since_epoch].
logbook::Stamp stamp_now(const std::string& root);

/// The root's file system and, where that is another, the one of the logbook's folder.
struct Volume {
    logbook::FileSystem system;
    std::string device;  ///< as the kernel names it: "vda1"; "" for one without a device
};

std::vector<Volume> volumes(const std::string& root, const std::string& folder);

/// How the run before left them, and whether it died, from every source that there is. One that is
/// not there, or cannot be read, is a piece too.
std::vector<logbook::Evidence> evidence_of(const std::string& root,
                                           const std::vector<Volume>& volumes,
                                           const BootLines& journal);

}  // namespace nightlatch::tool
