// SPDX-License-Identifier: MIT
#pragma once

#include "logbook/record.hpp"

#include <span>
#include <string>
#include <string_view>
#include <vector>

/// What those say who check and mount file systems: their texts in, what they saw out.
namespace nightlatch::logbook {

struct Seen {
    Saw saw = Saw::unreadable;
    std::string words;  ///< the line that decided, or why none does

    bool operator==(const Seen&) const = default;
};

/// Of what one check of one file system printed. e2fsck says "recovering journal" and ends with 0;
/// fsck.f2fs says in which state it found the checkpoint [e2fsprogs e2fsck/unix.c, problem.c;
/// f2fs-tools fsck/mount.c, print_cp_state].
Seen check_said(std::string_view printed);

struct LoggedCheck {
    std::string device;  ///< as the check was called: "/dev/vda1"
    std::string printed;
};

/// The checks of the initramfs, in its log [initramfs-tools scripts/functions, _checkfs_once;
/// logsave(8)].
std::vector<LoggedCheck> logged_checks(std::string_view log);

/// Of this boot's kernel lines, about the ext3 or ext4 file system on a device: "vda1". Without a
/// line of its mount nothing is known: the lines before may be gone [linux fs/ext4/super.c].
Seen ext4_said(std::span<const std::string> kernel_lines, std::string_view device);

/// Of f2fs's cp_status and sb_status, hexadecimal [linux Documentation/ABI/testing/sysfs-fs-f2fs].
/// The checkpoint of an unmount is there until this boot writes its first.
Seen f2fs_said(std::string_view cp_status, std::string_view sb_status);

/// "/dev/disk/by-uuid/1a-2b" from "systemd-fsck@dev-disk-by\x2duuid-1a\x2d2b.service"; "" for
/// another unit [systemd.unit(5), "String Escaping for Inclusion in Unit Names"].
std::string checked_by_unit(std::string_view unit);

}  // namespace nightlatch::logbook
