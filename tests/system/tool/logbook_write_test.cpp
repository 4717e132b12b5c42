// SPDX-License-Identifier: MIT
// `nightlatch logbook --started` and `--ended` on made boots: their files in a folder, their
// journal written by systemd's own program, what the checks say printed by the checks themselves.
#include "daemon/tool/logbook/bounded.hpp"
#include "desk.hpp"
#include "logbook/evidence.hpp"
#include "logbook/read.hpp"
#include "unit/logbook/made.hpp"

#include <chrono>
#include <csignal>
#include <filesystem>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>
#include <unistd.h>

using namespace nightlatch;
using namespace nightlatch::test;
using Catch::Matchers::ContainsSubstring;
using logbook::Saw;
using std::filesystem::create_directories;

namespace {

std::string field(const char* name, const std::string& value) {
    return std::string(name) + "=" + value + "\n";
}

/// A line as another journal exports it
/// [https://systemd.io/JOURNAL_EXPORT_FORMATS/#journal-export-format].
std::string journal_line(unsigned boot, int ms, const std::string& fields) {
    const std::string us = std::to_string(ms) + "000";
    return field("__REALTIME_TIMESTAMP", "17645700" + std::to_string(boot) + us.substr(0, 7)) +
           field("__MONOTONIC_TIMESTAMP", us) + field("_BOOT_ID", boot_id(boot)) + fields + "\n";
}

std::string kernel_said(unsigned boot, const std::string& text) {
    return journal_line(boot, 1'200, field("_TRANSPORT", "kernel") + field("MESSAGE", text));
}

/// By systemd, of a unit [systemd src/core/job.c; sd-messages.h has the ids].
std::string manager_said(unsigned boot, int ms, const std::string& unit, const std::string& rest) {
    return journal_line(boot, ms, field("_PID", "1") + field("UNIT", unit) + rest);
}

const std::string stopping = field("MESSAGE_ID", "de5b426a63be47a7b6ac3eaac82e2f6f");
const std::string stopped = field("MESSAGE_ID", "9d1aaa27d60140bd96365438aad20286");
const std::string powering_down = field("MESSAGE_ID", "98268866d1d54a499c4e98921d93bc40") +
                                  field("SHUTDOWN", "power-off") +
                                  field("MESSAGE", "System is powering down");

constexpr const char* mounted =
    "EXT4-fs (vda2): mounted filesystem with ordered data mode. Quota mode: none.";

/// A machine whose root is ext4 on vda2; boot by boot.
class Machine {
public:
    explicit Machine(std::string type = "ext4") : type_(std::move(type)) {
        for (const char* const folder : {"proc/self",
                                         "proc/sys/kernel/random",
                                         "sys/dev/block",
                                         "sys/class/block/vda2",
                                         "sys/class/block/vdb1",
                                         "run/initramfs",
                                         "run/nightlatch",
                                         "var/log/journal/0000000000000000000000000000000f"}) {
            create_directories(root() + "/" + folder);
        }
        std::filesystem::create_symlink("../../devices/platform/vda/vda2",
                                        root() + "/sys/dev/block/254:2");
    }

    void boots(unsigned number) {
        write(root() + "/proc/sys/kernel/random/boot_id", boot_id(number) + "\n");
        write(root() + "/proc/self/mountinfo",
              "22 1 254:2 / / rw,noatime - " + type_ +
                  " /dev/root rw\n"
                  "23 22 254:2 /var/lib/nightlatch /var/lib/nightlatch rw - " +
                  type_ + " /dev/root rw\n");
        std::filesystem::remove(root() + "/run/nightlatch/run");
    }

    /// And is in its second boot then.
    void ends_its_first_run() {
        boots(1);
        REQUIRE(started().status == 0);
        REQUIRE(ended().status == 0);
        boots(2);
    }

    /// Read by libsystemd from now on.
    void journal(const std::string& lines) {
        const std::string text = desk_.file("export", lines);
        const std::string file =
            root() + "/var/log/journal/0000000000000000000000000000000f/system.journal";
        std::filesystem::remove(file);
        const Ran ran = run_program("/lib/systemd/systemd-journal-remote",
                                    "--split-mode=none --output=" + file + " " + text);
        INFO(ran.err);
        REQUIRE(ran.status == 0);
    }

    Ran started() { return run_tool("logbook --started --root " + root() + " " + file()); }

    Ran ended() { return run_tool("logbook --ended --root " + root() + " " + file()); }

    nlohmann::json book() {
        return nlohmann::json::parse(run_tool("logbook --json " + file()).out);
    }

    [[nodiscard]] std::string root() const { return desk_.path("root"); }

    [[nodiscard]] std::string file() const { return desk_.path("tide.jsonl"); }

private:
    Desk desk_;
    std::string type_;
};

}  // namespace

TEST_CASE("a run that ended and whose root was mounted without recovery was orderly", "[logbook]") {
    Machine machine;
    machine.boots(1);
    const Ran first = machine.started();
    CHECK(first.status == 0);
    CHECK_THAT(first.err, ContainsSubstring("run 1 is the logbook's first"));
    machine.journal(journal_line(1, 60'000, powering_down) +
                    manager_said(1, 60'010, "tide-logger.service", stopping) +
                    manager_said(1, 63'210, "tide-logger.service", stopped));
    write(machine.root() + "/run/nightlatch/run",
          "nightlatch-run 1\naction = power-off\nnear_misses = 1\npresses = 2\nrestarts = 0\n"
          "going_down_us = 1000\n");
    CHECK(machine.ended().status == 0);
    machine.boots(2);
    machine.journal(kernel_said(2, mounted) + journal_line(1, 60'000, powering_down) +
                    manager_said(1, 60'010, "tide-logger.service", stopping) +
                    manager_said(1, 63'210, "tide-logger.service", stopped));
    const Ran second = machine.started();
    CHECK_THAT(second.err, ContainsSubstring("run 1: it shut down in order"));
    CHECK_THAT(second.err, ContainsSubstring("tide-logger.service took longest to stop, 3.200 s"));
    const auto book = machine.book();
    CHECK(book["runs"][0]["end"] == "orderly");
    CHECK(book["runs"][0]["ended"]["target"] == "poweroff");
    CHECK(book["runs"][0]["ended"]["presses"] == 2);
    CHECK(book["runs"][0]["why_slow"]["slowest_unit"] == "tide-logger.service");
    CHECK(book["runs"][0]["why_slow"]["slowest_us"] == 3'200'000);
    CHECK(book["summary"]["held_up_most"]["unit"] == "tide-logger.service");
    CHECK(book["runs"][0]["off_us"].is_null());
}

TEST_CASE("what the initramfs recovered is never orderly, however silent the kernel is",
          "[logbook]") {
    Machine machine;
    machine.ends_its_first_run();
    machine.journal(kernel_said(2, mounted));
    write(machine.root() + "/run/initramfs/fsck.log",
          "Log of fsck -C -a -T -t ext4 /dev/vda2\n\ntide: recovering journal\n"
          "tide: clean, 11/4096 files, 1797/16384 blocks\n");
    const Ran second = machine.started();
    CHECK(second.status == 0);
    CHECK_THAT(second.err, ContainsSubstring("had to be recovered"));
    CHECK(machine.book()["runs"][0]["end"] == "left");
}

TEST_CASE("what nobody can be asked about is not orderly", "[logbook]") {
    Machine machine;
    machine.ends_its_first_run();
    SECTION("no line of the kernel's is in the journal") {
        REQUIRE(machine.started().status == 0);
        CHECK(machine.book()["runs"][0]["end"] == "left");
    }
    SECTION("the lines about the mount are gone") {
        machine.journal(kernel_said(2, "usb 1-1: new device"));
        REQUIRE(machine.started().status == 0);
        CHECK(machine.book()["runs"][0]["end"] == "left");
    }
    SECTION("the initramfs checked another device") {
        machine.journal(kernel_said(2, mounted));
        write(machine.root() + "/run/initramfs/fsck.log",
              "Log of fsck -C -a -T -t ext4 /dev/vdb1\n\n"
              "tide: clean, 11/4096 files, 1797/16384 blocks\n");
        REQUIRE(machine.started().status == 0);
        CHECK(machine.book()["runs"][0]["end"] == "left");
    }
    SECTION("the initramfs checked something that has another name today") {
        machine.journal(kernel_said(2, mounted));
        write(machine.root() + "/run/initramfs/fsck.log",
              "Log of fsck -C -a -T -t ext4 /dev/mapper/tide\n\n"
              "tide: clean, 11/4096 files, 1797/16384 blocks\n");
        REQUIRE(machine.started().status == 0);
        CHECK(machine.book()["runs"][0]["end"] == "left");
    }
}

TEST_CASE("what the unit before kept counts, and only when it kept all", "[logbook]") {
    Machine machine;
    machine.ends_its_first_run();
    machine.journal(kernel_said(2, mounted));
    create_directories(machine.root() + "/run/nightlatch-boot");
    // Debian's folder is root's alone [measured on the virtual board]: here it says something else.
    write(machine.root() + "/run/initramfs/fsck.log",
          "Log of fsck -a /dev/vda2\n\ntide: clean, 11/4096 files, 1797/16384 blocks\n");
    write(machine.root() + "/run/nightlatch-boot/fsck.log",
          "Log of fsck -a /dev/vda2\n\ntide: recovering journal\n");
    SECTION("it kept all") {
        write(machine.root() + "/run/nightlatch-boot/looked", "");
        REQUIRE(machine.started().status == 0);
        CHECK(machine.book()["runs"][0]["end"] == "left");
    }
    SECTION("it was cut short") {
        REQUIRE(machine.started().status == 0);
        CHECK(machine.book()["runs"][0]["end"] == "orderly");
    }
    SECTION("it kept the kernel's last words") {
        write(machine.root() + "/run/nightlatch-boot/looked", "");
        std::filesystem::remove(machine.root() + "/run/nightlatch-boot/fsck.log");
        write(machine.root() + "/run/nightlatch-boot/pstore", "dmesg-ramoops-0\n");
        REQUIRE(machine.started().status == 0);
        CHECK(machine.book()["runs"][0]["end"] == "left");
        CHECK_THAT(machine.book()["runs"][0]["sentence"].get<std::string>(),
                   ContainsSubstring("the kernel gave up"));
    }
}

TEST_CASE("f2fs is judged by what it had before its first checkpoint", "[logbook]") {
    Machine machine("f2fs");
    machine.ends_its_first_run();
    create_directories(machine.root() + "/sys/fs/f2fs/vda2/stat");
    write(machine.root() + "/sys/fs/f2fs/vda2/stat/cp_status", "c0\n");  // as it is later on
    write(machine.root() + "/sys/fs/f2fs/vda2/stat/sb_status", "0\n");
    create_directories(machine.root() + "/run/nightlatch-boot/f2fs/vda2");
    write(machine.root() + "/run/nightlatch-boot/f2fs/vda2/sb_status", "0\n");
    for (const auto& [checkpoint, end] : {std::pair("c1", "orderly"), std::pair("c0", "left")}) {
        write(machine.root() + "/run/nightlatch-boot/f2fs/vda2/cp_status", checkpoint);
        write(machine.root() + "/run/nightlatch-boot/looked", "");
        std::filesystem::remove(machine.file());
        machine.ends_its_first_run();
        REQUIRE(machine.started().status == 0);
        INFO(checkpoint);
        CHECK(machine.book()["runs"][0]["end"] == end);
    }
}

TEST_CASE("an end that was never written is a run that was lost", "[logbook]") {
    Machine machine;
    machine.boots(1);
    REQUIRE(machine.started().status == 0);
    machine.boots(2);
    machine.journal(kernel_said(2, mounted));
    create_directories(machine.root() + "/sys/class/watchdog/watchdog0");
    write(machine.root() + "/sys/class/watchdog/watchdog0/bootstatus", "32\n");
    CHECK_THAT(
        machine.started().err,
        ContainsSubstring("/sys/class/watchdog/watchdog0/bootstatus: the watchdog reset it"));
    CHECK(machine.book()["runs"][0]["end"] == "lost");
    machine.boots(3);
    create_directories(machine.root() + "/sys/fs/pstore");
    write(machine.root() + "/sys/fs/pstore/dmesg-ramoops-0", "Oops");
    CHECK_THAT(machine.started().err, ContainsSubstring("dmesg-ramoops-0"));
    CHECK(machine.book()["runs"][1]["end"] == "lost-last-words");
}

TEST_CASE("a file system laid over another tells nothing, and its logbook may not last",
          "[logbook]") {
    Machine machine("overlay");
    machine.boots(1);
    CHECK_THAT(flat(machine.started().err),
               ContainsSubstring("is on / (overlay), and may be gone at the next boot: name a file "
                                 "on a file system that stays, [logbook] path"));
    REQUIRE(machine.ended().status == 0);
    machine.boots(2);
    REQUIRE(machine.started().status == 0);
    CHECK(machine.book()["runs"][0]["end"] == "unknowable");
}

TEST_CASE("a start that is there is not written again, and the record stays one", "[logbook]") {
    Machine machine;
    machine.boots(1);
    REQUIRE(machine.started().status == 0);
    const std::string before = content(machine.file());
    CHECK(machine.started().status == 0);
    CHECK(content(machine.file()) == before);
}

TEST_CASE("what cannot be written is told with what to do", "[logbook]") {
    const Desk desk;
    for (const char* const which : {"--started", "--ended"}) {
        const Ran ran = run_tool(std::string("logbook ") + which + " " + desk.path("none/tide"));
        CHECK(ran.status == 1);
        CHECK_THAT(ran.err, ContainsSubstring("is not in the logbook: "));
        CHECK_THAT(ran.err, ContainsSubstring("its folder must be there"));
    }
}

TEST_CASE("nobody waits for work that is not done in time", "[logbook]") {
    CHECK(tool::done_within(std::chrono::minutes(1), [] { return 3; }) == 3);
    const auto begun = std::chrono::steady_clock::now();
    const auto for_ever = [] {
        for (;;) {
            pause();
        }
        return 0;
    };
    CHECK_FALSE(tool::done_within(std::chrono::milliseconds(50), for_ever));
    CHECK(std::chrono::steady_clock::now() - begun >= std::chrono::milliseconds(50));
    CHECK_FALSE(tool::done_within(std::chrono::minutes(1), [] {
        raise(SIGKILL);
        return 0;
    }));
}

// The reference: what e2fsck itself prints of a file system that it recovers, and of one that was
// left in order [e2fsprogs].
TEST_CASE("what e2fsck prints is understood", "[logbook]") {
    const Desk desk;
    const std::string image = desk.path("image");
    REQUIRE(run_program("/usr/sbin/mke2fs", "-q -t ext4 -L tide " + image + " 16M").status == 0);
    const Ran clean = run_program("/usr/sbin/e2fsck", "-p " + image);
    INFO(clean.out);
    CHECK(clean.status == 0);
    CHECK(logbook::check_said(clean.out).saw == Saw::clean);
    // A transaction that was written and never taken over, as a loss of power leaves it.
    const std::string commands = desk.file(
        "commands", "jo\njw -b 1234 " + desk.file("block", std::string(1024, 't')) + "\njc\n");
    REQUIRE(run_program("/usr/sbin/debugfs", "-w -f " + commands + " " + image).status == 0);
    const Ran logged =
        run_program("/usr/sbin/logsave", desk.path("fsck.log") + " /usr/sbin/e2fsck -p " + image);
    INFO(logged.out);
    CHECK(logged.status == 0);  // it recovers, and says that all is well
    const auto checks = logbook::logged_checks(content(desk.path("fsck.log")));
    REQUIRE(checks.size() == 1);
    CHECK(checks.front().device == image);
    CHECK(logbook::check_said(checks.front().printed).saw == Saw::recovery);
    CHECK(logbook::check_said(run_program("/usr/sbin/e2fsck", "-p " + image).out).saw ==
          Saw::clean);
}

TEST_CASE("what fsck.f2fs prints is understood", "[logbook]") {
    const Desk desk;
    const std::string image = desk.file("image", "");
    std::filesystem::resize_file(image, std::uintmax_t{64} << 20U);
    REQUIRE(run_program("/usr/sbin/mkfs.f2fs", "-q " + image).status == 0);
    const Ran clean = run_program("/usr/sbin/fsck.f2fs", "-a " + image);
    INFO(clean.out);
    CHECK(logbook::check_said(clean.out).saw == Saw::clean);
}
