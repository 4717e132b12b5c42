// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

/// What the logbook holds: two records for each run (a boot of the machine), and one more for a run
/// after which a person watched the supply go.
namespace nightlatch::logbook {

/// The time of day, UTC. Like BoardClock it has no now(): lib/ reads no clock.
struct DayClock {
    using duration = std::chrono::microseconds;
    using rep = duration::rep;
    using period = duration::period;
    using time_point = std::chrono::time_point<DayClock, duration>;  ///< since 1970
    static constexpr bool is_steady = false;
};

struct Stamp {
    Instant up{};  ///< CLOCK_MONOTONIC, kept to the microsecond
    /// Nothing unless the clock had been set: many boards have no clock that runs while they are
    /// off, and what they show until then is no time.
    std::optional<DayClock::time_point> day{};

    bool operator==(const Stamp&) const = default;
};

/// Every reader of JSON takes so large a number as it is [RFC 8259, 6]; a count stays there.
inline constexpr std::uint64_t most_number = (std::uint64_t{1} << 53U) - 1;

/// Microseconds that a machine can have been up, and those since 1970: 142 years, and until the
/// year 2255. What is beyond them in a record is not known; within, no difference of two overflows.
inline constexpr std::int64_t most_up_us = (std::int64_t{1} << 52U) - 1;
inline constexpr std::int64_t most_day_us = (std::int64_t{1} << 53U) - 1;

/// Runs are in the order of their numbers, clock or not; the boot id tells two apart that have the
/// same.
struct RunId {
    std::uint64_t number = 0;  ///< counts up from 1
    std::string boot{};        ///< 32 hexadecimal digits [random(4), boot_id]

    bool operator==(const RunId&) const = default;
};

/// A file system whose state tells how the run before ended: the root's, and the logbook's own
/// where that is another.
struct FileSystem {
    std::string where;  ///< "/"
    std::string type;   ///< as the kernel names it: "ext4"
    bool root = false;

    bool operator==(const FileSystem&) const = default;
};

/// Who would have said something.
enum class Looker : unsigned char {
    fsck_log,     ///< the initramfs's check [initramfs-tools scripts/functions, fsck.log]
    fsck_unit,    ///< systemd-fsck@.service and systemd-fsck-root.service, in this boot's journal
    kernel,       ///< the file system's driver, in this boot's kernel log
    f2fs_status,  ///< cp_status and sb_status [linux Documentation/ABI/testing/sysfs-fs-f2fs]
    pstore,       ///< what the kernel left when it gave up
    reset_cause,  ///< what a driver says about why the processor started
};

enum class Saw : unsigned char {
    clean,       ///< it was left in order
    recovery,    ///< it was not, and has been recovered
    not_there,   ///< nobody looked there at this boot
    unreadable,  ///< it is not known whether or what was said
    words,       ///< what was said, which decides nothing of a file system
};

/// One piece, of this boot, on how the run before ended.
struct Evidence {
    Looker by{};
    Saw saw = Saw::unreadable;
    std::string of;     ///< FileSystem::where; "" for what is about the whole machine
    std::string where;  ///< where it came from: "/run/initramfs/fsck.log"
    std::string words;  ///< the line itself, or why it could not be read

    bool operator==(const Evidence&) const = default;
};

/// How a run went down, as its own journal has it.
struct Stopping {
    std::string slowest;                  ///< the service that took longest to stop; "" for none
    Duration took{};                      ///< it
    std::vector<std::string> timed_out;   ///< had to be killed after their time
    std::vector<std::string> unfinished;  ///< were told to stop, and never seen to have
    std::string reached;                  ///< the last target: "poweroff.target"; "" for none

    bool operator==(const Stopping&) const = default;
};

struct Started {
    RunId run;
    Stamp at;
    std::string version;          ///< ours
    std::string kernel;           ///< its release and build
    std::optional<RunId> before;  ///< nothing at the first run of a logbook
    std::vector<FileSystem> file_systems;
    std::vector<Evidence> evidence;
    std::optional<Stopping> stopping{};  ///< of the run before; nothing: its journal was not there

    bool operator==(const Started&) const = default;
};

/// What the service counted in a run. Stamps are CLOCK_MONOTONIC.
struct Summary {
    std::uint64_t presses = 0;
    std::uint64_t near_misses = 0;  ///< let go before any stage
    std::uint64_t restarts = 0;     ///< of the service
    std::string decided_by;         ///< the stage or the alarm that asked last; "" when none did
    std::string action;             ///< "power-off"
    std::optional<Instant> decided;
    std::optional<Instant> asked;
    std::optional<Instant> going_down;  ///< PrepareForShutdown, whoever asked

    bool operator==(const Summary&) const = default;
};

struct Ended {
    RunId run;
    Stamp at;
    std::string target;              ///< what the system goes to: "poweroff", "reboot"; "" unknown
    std::optional<Summary> summary;  ///< nothing: the service left none

    bool operator==(const Ended&) const = default;
};

struct Witnessed {
    RunId run;          ///< after which the supply went
    Stamp at;           ///< when it was written down, in a later run
    std::string words;  ///< the person's: "rail to 0 V, 2.1 s"
    std::string facts;  ///< what the verdict rested on, as `audit --save` writes it

    bool operator==(const Witnessed&) const = default;
};

using Record = std::variant<Started, Ended, Witnessed>;

const RunId& run_of(const Record& record) noexcept;

}  // namespace nightlatch::logbook
