// SPDX-License-Identifier: MIT
#include "logbook/evidence.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::logbook;

TEST_CASE("a check that recovered the journal says so, whatever else it says", "[logbook]") {
    // e2fsprogs 1.47, run on images of the project's own (tests/system/tool runs it again).
    CHECK(check_said("tide: clean, 11/4096 files, 1797/16384 blocks\n") ==
          Seen{Saw::clean, "tide: clean, 11/4096 files, 1797/16384 blocks"});
    CHECK(check_said("tide: recovering journal\ntide: clean, 11/4096 files, 1797/16384 blocks\n") ==
          Seen{Saw::recovery, "tide: recovering journal"});
    // e2fsck/unix.c, check_if_skip and show_stats.
    CHECK(check_said("tide was not cleanly unmounted, check forced.\n"
                     "tide: 11/4096 files (0.0% non-contiguous), 1797/16384 blocks\n")
              .saw == Saw::recovery);
    CHECK(check_said("tide has been mounted 30 times without being checked, check forced.\n"
                     "tide: 11/4096 files (0.0% non-contiguous), 1797/16384 blocks\n")
              .saw == Saw::clean);
    CHECK(check_said("tide: Clearing orphaned inode 12 (uid=0, gid=0, mode=0100644, size=5)\n"
                     "tide: clean, 11/4096 files, 1797/16384 blocks\n")
              .saw == Saw::recovery);
    // f2fs-tools fsck/mount.c, print_cp_state.
    CHECK(check_said("Info: checkpoint state = 45 :  crc compacted_summary unmount\n").saw ==
          Saw::clean);
    CHECK(
        check_said("Info: checkpoint state = 44 :  crc compacted_summary sudden-power-off\n").saw ==
        Saw::recovery);
    for (const char* const silent : {"", "fsck from util-linux 2.38.1\n", "tide: is mounted\n"}) {
        CHECK(check_said(silent).saw == Saw::unreadable);
    }
}

TEST_CASE("the initramfs's log has a part for each check", "[logbook]") {
    // initramfs-tools scripts/functions, _checkfs_once: logsave -a -s FSCK_LOGFILE fsck …
    const auto checks =
        logged_checks("Log of fsck -C -a -T -t ext4 /dev/vda2 \n"
                      "Mon Nov 30 06:12:01 2026\n\n"
                      "tide: recovering journal\ntide: clean, 11/4096 files, 1797/16384 blocks\n\n"
                      "Mon Nov 30 06:12:02 2026\n----------------\n"
                      "Log of fsck -C -a -T -t ext4 /dev/vda3\n\n"
                      "usr: clean, 11/4096 files, 1797/16384 blocks\n----------------\n");
    REQUIRE(checks.size() == 2);
    CHECK(checks[0].device == "/dev/vda2");
    CHECK(check_said(checks[0].printed).saw == Saw::recovery);
    CHECK(checks[1].device == "/dev/vda3");
    CHECK(check_said(checks[1].printed).saw == Saw::clean);
    CHECK(logged_checks("").empty());
    CHECK(logged_checks("no log of anything\n").empty());
}

TEST_CASE("the kernel tells of a recovery at the mount, or mounts in silence", "[logbook]") {
    // linux fs/ext4/super.c, 6.1 and 6.12.
    const std::string other = "EXT4-fs (vda2): recovery complete";
    const std::string old_mount =
        "EXT4-fs (vda1): mounted filesystem with ordered data mode. Quota mode: none.";
    const std::string new_mount = "EXT4-fs (vda1): mounted filesystem "
                                  "5c1dfe0c-b1e2-4a5e-9d4a-0e3a5a5d3a51 ro with ordered data mode. "
                                  "Quota mode: none.";
    CHECK(ext4_said(std::vector{other, old_mount}, "vda1") == Seen{Saw::clean, old_mount});
    CHECK(ext4_said(std::vector{new_mount}, "vda1").saw == Saw::clean);
    for (const char* const said :
         {"EXT4-fs (vda1): INFO: recovery required on readonly filesystem",
          "EXT4-fs (vda1): recovery complete",
          "EXT4-fs (vda1): 1 orphan inode deleted",
          "EXT4-fs (vda1): warning: mounting unchecked fs, running e2fsck is recommended"}) {
        CHECK(ext4_said(std::vector<std::string>{said, new_mount}, "vda1") ==
              Seen{Saw::recovery, said});
        CHECK(ext4_said(std::vector<std::string>{new_mount, said}, "vda1").saw == Saw::recovery);
    }
    // Its mount may have been told of in lines that are gone: nothing is known.
    CHECK(ext4_said({}, "vda1").saw == Saw::unreadable);
    CHECK(ext4_said(std::vector{other}, "vda1").saw == Saw::unreadable);
    CHECK(
        ext4_said(std::vector<std::string>{"EXT4-fs (vda1): re-mounted. Quota mode: none."}, "vda1")
            .saw == Saw::unreadable);
    CHECK(ext4_said(std::vector{new_mount}, "vda").saw == Saw::unreadable);
}

TEST_CASE("f2fs has the checkpoint of an unmount, or has recovered, or nobody knows", "[logbook]") {
    // linux Documentation/ABI/testing/sysfs-fs-f2fs: cp_status 0x1 CP_UMOUNT_FLAG, sb_status 0x80
    // SBI_IS_RECOVERED.
    CHECK(f2fs_said("45", "0") == Seen{Saw::clean, "cp_status 45, sb_status 0"});
    CHECK(f2fs_said("45\n", "1\n").saw == Saw::clean);
    CHECK(f2fs_said("44", "80").saw == Saw::recovery);
    CHECK(f2fs_said("45", "81").saw == Saw::recovery);
    CHECK(f2fs_said("44", "0").saw == Saw::unreadable);
    // 0x4 SBI_NEED_FSCK: as Linux 6.12 has it on a root mounted read-only after a pulled plug, with
    // "Cannot recover all fsync data errno=-30" (measured on the virtual board).
    CHECK(f2fs_said("45", "4").saw == Saw::unreadable);
    CHECK(f2fs_said("", "0").saw == Saw::unreadable);
    CHECK(f2fs_said("45", "tide").saw == Saw::unreadable);
}

TEST_CASE("a unit's name says which device it checks", "[logbook]") {
    // As systemd-escape(1) --path --template=systemd-fsck@.service writes them.
    CHECK(checked_by_unit("systemd-fsck@dev-vdb.service") == "/dev/vdb");
    CHECK(checked_by_unit(R"(systemd-fsck@dev-disk-by\x2duuid-1a2b\x2d3c4d.service)") ==
          "/dev/disk/by-uuid/1a2b-3c4d");
    CHECK(checked_by_unit(R"(systemd-fsck@dev-\xzz.service)") == R"(/dev/\xzz)");
    CHECK(checked_by_unit("systemd-fsck-root.service").empty());
    CHECK(checked_by_unit("").empty());
}
