// SPDX-License-Identifier: MIT
// What of the rest of the machine a power cut, or a hang, would hurt.
#include "audit/system_rules.hpp"

#include "audit/say.hpp"
#include "base/text.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::audit {
namespace {

bool is_at_or_below(std::string_view path, std::string_view where) {
    return where == "/" || path == where || (path.starts_with(where) && path[where.size()] == '/');
}

/// The file system that a path is on: the longest mount point above it, the last one mounted there.
const Mount* mount_of(const std::vector<Mount>& mounts, std::string_view path) {
    const Mount* found = nullptr;
    for (const Mount& mount : mounts) {
        if (is_at_or_below(path, mount.where) &&
            (found == nullptr || mount.where.size() >= found->where.size())) {
            found = &mount;
        }
    }
    return found;
}

std::string shown(const Mount& mount) {
    return mount.where + " is " + mount.type + ", mounted " +
           (mount.read_only ? "read-only" : "read-write");
}

/// The logbook's folder, where the configuration has it.
std::string records_folder(const Scene& scene) {
    const std::string path =
        scene.settings != nullptr ? scene.settings->logbook.path : config::LogbookSettings{}.path;
    return path.substr(0, path.rfind('/'));
}

Judgement judge_root_storage(const Scene& scene) {
    constexpr std::array<std::string_view, 4> forgetful{"overlay", "tmpfs", "ramfs", "rootfs"};
    const Known<std::vector<Mount>>& mounts = scene.facts->mounts;
    if (!mounts) {
        return CannotTell{mounts.what_is_missing()};
    }
    const std::string records = records_folder(scene);
    const Mount* const mount = mount_of(*mounts, records);
    if (mount == nullptr) {
        return CannotTell{"what is mounted at /"};
    }
    const bool forgets =
        std::find(forgetful.begin(), forgetful.end(), mount->type) != forgetful.end();
    Findings findings;
    if (mount->read_only || forgets) {
        Finding& finding = findings.note(
            mount->where,
            mount->read_only
                ? "nothing can be written where the logbook is kept: no run leaves a record"
                : "what is written where the logbook is kept is gone at power-off, unless the " +
                      mount->type + " keeps it on a disk: no run leaves a record");
        finding.evidence = {shown(*mount), "the logbook's folder is " + safe(records)};
        finding.remedy = "a small file system of its own for it, in /etc/fstab:\n"
                         "LABEL=records " +
                         safe(records) +
                         " ext4 noatime,nofail,x-systemd.device-timeout=5s 0 2\n"
                         "then: sudo mount " +
                         safe(records) + " && sudo systemd-tmpfiles --create";
    }
    return findings.or_pass("what is written in " + safe(records) + " stays: " + shown(*mount));
}

bool is_fat(const Mount& mount) {
    return mount.type == "vfat" || mount.type == "msdos" || mount.type == "exfat";
}

bool is_boot(const Mount& mount) {
    return is_at_or_below(mount.where, "/boot") || is_at_or_below(mount.where, "/efi");
}

Judgement judge_boot_storage(const Scene& scene) {
    const Known<std::vector<Mount>>& mounts = scene.facts->mounts;
    if (!mounts) {
        return CannotTell{mounts.what_is_missing()};
    }
    Findings findings;
    std::string seen;
    for (const Mount& mount : *mounts) {
        if (!is_boot(mount) || !is_fat(mount)) {
            continue;
        }
        seen += (seen.empty() ? "" : ", ") + shown(mount);
        if (mount.read_only) {
            continue;
        }
        Finding& finding = findings.warning(
            mount.where,
            "the boot partition is mounted read-write, and FAT has no journal: power that fails "
            "during a write can leave a machine that does not boot");
        finding.evidence = {shown(mount)};
        finding.remedy = "in /etc/fstab add `ro` (or `noauto`) to the options of " +
                         safe(mount.where) +
                         "; before an update of kernel or boot files\n"
                         "sudo mount -o remount,rw " +
                         safe(mount.where);
    }
    return findings.or_pass(seen.empty() ? "no FAT file system is mounted at /boot or /efi" : seen);
}

/// Does the boot end in emergency mode when it cannot be mounted? Not where it is not waited for,
/// and not for what has no device of its own; / is mounted before.
bool must_be_mounted(const BootMount& mount) {
    constexpr std::array<std::string_view, 4> not_needed{
        "nofail", "noauto", "x-systemd.automount", "_netdev"};
    constexpr std::array<std::string_view, 12> others{"swap",
                                                      "tmpfs",
                                                      "proc",
                                                      "sysfs",
                                                      "none",
                                                      "devpts",
                                                      "debugfs",
                                                      "cgroup2",
                                                      "nfs",
                                                      "nfs4",
                                                      "cifs",
                                                      "overlay"};
    return mount.where.starts_with('/') && mount.where != "/" &&
           std::find(others.begin(), others.end(), mount.type) == others.end() &&
           std::find_first_of(
               mount.options.begin(), mount.options.end(), not_needed.begin(), not_needed.end()) ==
               mount.options.end();
}

Judgement judge_failed_mount(const Scene& scene) {
    const Known<std::vector<BootMount>>& mounts = scene.facts->boot_mounts;
    if (!mounts) {
        return CannotTell{mounts.what_is_missing()};
    }
    Findings findings;
    for (const BootMount& mount : *mounts) {
        if (!must_be_mounted(mount)) {
            continue;
        }
        const std::string place = "/etc/fstab:" + std::to_string(mount.line);
        Finding& finding = findings.note(
            place,
            "a boot that cannot mount " + safe(mount.where) +
                " ends in emergency mode: the button does nothing there, and the supply stays on");
        finding.evidence = {place + ": " + safe(mount.where) + " is " + safe(mount.type) +
                            ", without the option nofail"};
        finding.remedy = "add `nofail` to its options, if the appliance can run without it; what "
                         "works in emergency mode, see nightlatchd(8)";
    }
    return findings.or_pass("no file system of /etc/fstab but / can stop the boot");
}

constexpr std::array rules{
    Rule{"root-storage",
         Group::system,
         "What is recorded of a run outlives the power-off",
         "Whether the last run ended in order is told by a record on the disk. A root file system "
         "that is read-only, or an overlay on memory, is kind to the storage but forgets it "
         "[Linux Documentation/filesystems/overlayfs.rst].",
         {},
         judge_root_storage},
    Rule{"boot-storage",
         Group::system,
         "The boot partition cannot be hurt by a power cut",
         "A FAT file system has no journal; boot partitions that were mounted read-write when the "
         "power went have been found damaged [raspberrypi/linux issue 3410, mount(8)]. An orderly "
         "power-off is safe for it, an empty battery is not.",
         {},
         judge_boot_storage},
    Rule{"failed-mount",
         Group::system,
         "A file system that cannot be mounted does not leave the button dead",
         "A mount of /etc/fstab without nofail is required by local-fs.target, whose failure "
         "starts emergency.target; sysinit.target conflicts with that, and the service needs it "
         "[systemd.mount(5), systemd.special(7); systemd units/local-fs.target, "
         "units/sysinit.target].",
         {},
         judge_failed_mount},
    Rule{"watchdog-at-off",
         Group::system,
         "No hardware watchdog resets the board while it switches off",
         "systemd stops the watchdog for a power-off, but one with nowayout goes on and nobody "
         "feeds it any more; the post-halt driver waits with interrupts off. A reset before the "
         "supply is cut starts the board again [Linux Documentation/watchdog/watchdog-api.rst, "
         "drivers/watchdog/watchdog_dev.c; systemd-system.conf(5)].",
         {},
         judge_watchdog_at_off},
    Rule{"hung-system",
         Group::system,
         "A system that hangs comes back by itself",
         "Where the button only asks the system to leave, a system that does not answer has no way "
         "off but the plug. A hardware watchdog resets it; kernel.panic= restarts it after a panic "
         "and is 0, never, if nothing is set [systemd-system.conf(5), RuntimeWatchdogSec=; Linux "
         "Documentation/admin-guide/sysctl/kernel.rst].",
         {},
         judge_hung_system},
    Rule{"forced-power-off",
         Group::system,
         "No key combination switches off past the wait for the button",
         "While the button is held it may feed the circuit that is to switch off; a delay lock and "
         "a helper at the end of a shutdown wait for the release. A power-off that skips the "
         "shutdown passes both [Linux Documentation/admin-guide/sysrq.rst, systemctl(1)].",
         {},
         judge_forced_power_off},
    Rule{"kernel-newest",
         Group::system,
         "The kernel that runs is the one that the next boot has",
         "Each kernel brings its own modules, drivers and, on most boards, device trees; an update "
         "installs another one beside it, which runs from the next boot on [linux "
         "Documentation/kbuild/modules.rst]. That the newest installed is the one that boots is "
         "common practice, no source.",
         {},
         judge_kernel_newest},
    Rule{"kernel-arguments",
         Group::system,
         "The kernel's command line does not stand in the button's way",
         "A word on it can keep the service, the login manager or the bus from running, or allow "
         "a power-off past the wait for the button [linux "
         "Documentation/admin-guide/kernel-parameters.txt, systemd(1), kernel-command-line(7)].",
         {},
         judge_kernel_arguments},
    Rule{"halt-stays-on",
         Group::system,
         "No power key ends in a halt with the supply on",
         "A halt stops the processor and calls no way off: only a power-off drives the post-halt "
         "line [linux kernel/reboot.c, kernel_halt and kernel_power_off; logind.conf(5)]. Some "
         "vendors' kernels switch off after a halt, too: not to be relied on.",
         {},
         judge_halt_stays_on},
};

}  // namespace

std::span<const Rule> system_rules() {
    return rules;
}

}  // namespace nightlatch::audit
