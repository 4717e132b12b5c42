// SPDX-License-Identifier: MIT
#pragma once

#include "logbook/record.hpp"

/// Records of a tide gauge on a pontoon.
namespace nightlatch::test {

inline std::string boot_id(unsigned number) {
    std::string id = std::to_string(number);
    return std::string(32 - id.size(), '0') + id;
}

inline logbook::RunId run_id(unsigned number) {
    return {number, boot_id(number)};
}

inline logbook::Evidence said(logbook::Looker by, logbook::Saw saw, std::string of = "/") {
    return {by, saw, std::move(of), "/run/initramfs/fsck.log", "tide: 412 files"};
}

inline const logbook::FileSystem ext4_root{"/", "ext4", true};

/// The root was checked by the initramfs, and left in order.
inline logbook::Started started(unsigned number, logbook::Saw root = logbook::Saw::clean) {
    logbook::Started record;
    record.run = run_id(number);
    record.at = {Instant(std::chrono::milliseconds(4'120)), {}};
    record.version = "0.9.0";
    record.kernel = "6.12.41 #1 SMP";
    if (number > 1) {
        record.before = run_id(number - 1);
    }
    record.file_systems = {ext4_root};
    record.evidence = {said(logbook::Looker::fsck_log, root),
                       said(logbook::Looker::kernel, logbook::Saw::clean)};
    return record;
}

inline logbook::Ended ended(unsigned number) {
    using std::chrono::seconds;
    logbook::Summary summary{3, 1, 0, "off", "power-off", {}, {}, {}};
    summary.decided = Instant(seconds(7'200));
    summary.asked = Instant(seconds(7'200));
    summary.going_down = Instant(seconds(7'201));
    return {run_id(number), {Instant(seconds(7'204)), {}}, "poweroff", summary};
}

}  // namespace nightlatch::test
