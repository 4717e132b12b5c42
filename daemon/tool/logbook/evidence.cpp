// SPDX-License-Identifier: MIT
#include "logbook/evidence.hpp"

#include "base/text.hpp"
#include "daemon/facts/files.hpp"
#include "daemon/tool/logbook/this_boot.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::tool {
namespace {

using logbook::Evidence;
using logbook::FileSystem;
using logbook::LoggedCheck;
using logbook::Looker;
using logbook::Saw;
using logbook::Seen;

/// Where nightlatch-evidence.service keeps what others may not read, or what is soon written over.
constexpr const char* kept = "/run/nightlatch-boot";
constexpr const char* initramfs_log = "/run/initramfs/fsck.log";

/// It keeps all or, without this, nothing that counts.
bool is_kept(const std::string& root) {
    const auto looked = facts::is_there(root, std::string(kept) + "/looked");
    return looked && *looked;
}

Evidence piece(Looker by, const FileSystem& of, std::string where, const Seen& seen) {
    return {by, seen.saw, of.where, std::move(where), safe(seen.words)};
}

/// "vda1" from "/dev/disk/by-uuid/…" or "/dev/vda1"; nothing where the kernel has no such device.
std::optional<std::string> kernel_name(const std::string& root, const std::string& device) {
    const auto target = facts::link_target(root, device);
    const std::string path = target ? *target : device;
    const std::string name = path.substr(path.rfind('/') + 1);
    const auto there = facts::is_there(root, "/sys/class/block/" + name);
    return there && *there ? std::optional(name) : std::nullopt;
}

/// All that was printed about the device. A check of one that nobody knows by its name may have
/// been of this one.
Seen said_of(const std::string& root,
             const std::vector<LoggedCheck>& checks,
             const std::string& device) {
    std::optional<std::string> printed;
    std::string unknown;
    for (const LoggedCheck& check : checks) {
        const auto name = kernel_name(root, check.device);
        if (name == device) {
            printed = printed.value_or("") + check.printed;
        }
        unknown = name ? unknown : check.device;
    }
    if (printed) {
        return logbook::check_said(*printed);
    }
    return unknown.empty() ? Seen{Saw::not_there, "not checked there"}
                           : Seen{Saw::unreadable, "which device " + unknown + " is"};
}

/// The initramfs checks the root, and /usr where that is a file system of its own. If the root is
/// not among its checks by name, it may have had another: then nothing is known of it.
Seen initramfs_said(const std::string& root, const Volume& volume) {
    const auto log =
        facts::read_file(root, is_kept(root) ? std::string(kept) + "/fsck.log" : initramfs_log);
    if (!log) {
        return {log.error().absent() ? Saw::not_there : Saw::unreadable, log.error().text};
    }
    const std::vector<LoggedCheck> checks = logbook::logged_checks(*log);
    Seen seen = said_of(root, checks, volume.device);
    if (seen.saw == Saw::not_there && volume.system.root && !checks.empty()) {
        return {Saw::unreadable, "none of its checks is of " + volume.device};
    }
    return seen;
}

Seen kernel_said(const BootLines& journal, const std::string& device) {
    return journal.ext4 ? logbook::ext4_said(*journal.ext4, device)
                        : Seen{Saw::unreadable, journal.ext4.what_is_missing()};
}

Evidence f2fs_said(const std::string& root, const Volume& volume) {
    const std::string folder = is_kept(root) ? std::string(kept) + "/f2fs/" + volume.device + "/"
                                             : "/sys/fs/f2fs/" + volume.device + "/stat/";
    const auto checkpoint = facts::read_value(root, folder + "cp_status");
    const auto state = facts::read_value(root, folder + "sb_status");
    const Seen seen = !checkpoint ? Seen{Saw::unreadable, checkpoint.error().text}
                      : !state    ? Seen{Saw::unreadable, state.error().text}
                                  : logbook::f2fs_said(*checkpoint, *state);
    return piece(Looker::f2fs_status, volume.system, folder, seen);
}

void add_volume(const std::string& root,
                const Volume& volume,
                const BootLines& journal,
                std::vector<Evidence>& all) {
    const FileSystem& system = volume.system;
    all.push_back(piece(Looker::fsck_log, system, initramfs_log, initramfs_said(root, volume)));
    if (!system.root) {
        all.push_back(piece(Looker::fsck_unit,
                            system,
                            "systemd-fsck in the journal",
                            said_of(root, journal.checks, volume.device)));
    }
    if (system.type == "f2fs") {
        all.push_back(f2fs_said(root, volume));
    }
    if (system.type == "ext3" || system.type == "ext4") {
        all.push_back(
            piece(Looker::kernel, system, "the kernel's log", kernel_said(journal, volume.device)));
    }
}

/// What the kernel left when it gave up: there, or put away by systemd-pstore at this boot.
Evidence last_words(const std::string& root, const BootLines& journal) {
    constexpr const char* folder = "/sys/fs/pstore";
    Evidence found{Looker::pstore, Saw::not_there, "", folder, ""};
    if (!journal.last_words.empty()) {
        found.saw = Saw::words;
        found.where = "systemd-pstore in the journal";
        found.words = safe(journal.last_words.front());
        return found;
    }
    if (is_kept(root)) {
        const auto names = facts::read_value(root, std::string(kept) + "/pstore");
        found.saw = names && !names->empty() ? Saw::words : Saw::not_there;
        found.words = names ? safe(names->substr(0, names->find('\n'))) : "";
        return found;
    }
    const auto names = facts::names_in(root, folder);
    if (!names) {
        found.saw = names.error().absent() ? Saw::not_there : Saw::unreadable;
        found.words = names.error().text;
    } else if (!names->empty()) {
        found.saw = Saw::words;
        found.words = safe(names->front());
    }
    return found;
}

struct StatusBit {
    long long bit;
    const char* words;
};

/// What a watchdog's driver says of the last start [linux include/uapi/linux/watchdog.h, WDIOF_*].
constexpr std::array<StatusBit, 5> watchdog_bits{{{0x01, "it was too hot"},
                                                  {0x04, "an outside signal reset it"},
                                                  {0x10, "the supply was too low"},
                                                  {0x20, "the watchdog reset it"},
                                                  {0x40, "the supply was too high"}}};

/// `path`: of a driver's status; many do not say.
void add_watchdog(const std::string& root, const std::string& path, std::vector<Evidence>& all) {
    const auto status = facts::read_number(root, path);
    for (const StatusBit& row : watchdog_bits) {
        if (status && (*status & row.bit) != 0) {
            all.push_back({Looker::reset_cause, Saw::words, "", path, row.words});
        }
    }
}

void add_watchdogs(const std::string& root, std::vector<Evidence>& all) {
    const auto names = facts::class_devices(root, "watchdog");
    for (const std::string& name : names ? *names : std::vector<std::string>{}) {
        add_watchdog(root, "/sys/class/watchdog/" + name + "/bootstatus", all);
    }
}

/// A driver of a supply or of a reset controller may say it too
/// [linux Documentation/ABI/testing/sysfs-platform-power-on-reason].
void add_power_on_reasons(const std::string& root, std::vector<Evidence>& all) {
    const std::string folder = "/sys/bus/platform/devices";
    const auto names = facts::names_in(root, folder);
    for (const std::string& name : names ? *names : std::vector<std::string>{}) {
        std::string path = folder;
        path.append("/").append(name).append("/power_on_reason");
        if (const auto reason = facts::read_value(root, path); reason && !reason->empty()) {
            all.push_back({Looker::reset_cause, Saw::words, "", path, safe(*reason)});
        }
    }
}

}  // namespace

std::vector<Evidence> evidence_of(const std::string& root,
                                  const std::vector<Volume>& volumes,
                                  const BootLines& journal) {
    std::vector<Evidence> all;
    for (const Volume& volume : volumes) {
        add_volume(root, volume, journal, all);
    }
    all.push_back(last_words(root, journal));
    add_watchdogs(root, all);
    add_power_on_reasons(root, all);
    return all;
}

}  // namespace nightlatch::tool
