// SPDX-License-Identifier: MIT
#include "daemon/tool/logbook/this_boot.hpp"

#include "base/text.hpp"
#include "daemon/facts/files.hpp"
#include "daemon/facts/mounts.hpp"

#include <algorithm>
#include <chrono>
#include <cstdlib>

#include <sys/timex.h>
#include <sys/utsname.h>
#include <time.h>

namespace nightlatch::tool {
namespace {

using audit::Mount;
using logbook::DayClock;

DayClock::time_point day_of_system() {
    const auto now = std::chrono::system_clock::now().time_since_epoch();
    return DayClock::time_point(std::chrono::floor<DayClock::duration>(now));
}

bool is_disciplined() {
    timex state{};
    const int clock = adjtimex(&state);
    return clock >= 0 && clock != TIME_ERROR && (state.status & STA_UNSYNC) == 0;
}

/// systemd sets a clock that is far behind to a later time: then the two do not agree.
bool is_from_a_running_clock(const std::string& root) {
    constexpr long long most_apart = 60;  // seconds
    const auto names = facts::class_devices(root, "rtc");
    if (!names) {
        return false;
    }
    return std::any_of(names->begin(), names->end(), [&](const std::string& name) {
        const std::string folder = "/sys/class/rtc/" + name + "/";
        const auto set_the_system = facts::read_number(root, folder + "hctosys");
        const auto its_time = facts::read_number(root, folder + "since_epoch");
        const auto day = std::chrono::floor<std::chrono::seconds>(day_of_system());
        return set_the_system && *set_the_system == 1 && its_time &&
               std::llabs(*its_time - day.time_since_epoch().count()) <= most_apart;
    });
}

/// The mount that a path lies in; null for none.
const Mount* mount_of(const std::vector<Mount>& mounts, const std::string& path) {
    const Mount* found = nullptr;
    for (const Mount& mount : mounts) {
        const std::string below = mount.where == "/" ? "/" : mount.where + "/";
        const bool holds = (path + "/").starts_with(below);
        if (holds && (found == nullptr || found->where.size() <= mount.where.size())) {
            found = &mount;
        }
    }
    return found;
}

/// Where its file system is mounted for all: a sandbox mounts parts of it once more.
const Mount& whole_of(const std::vector<Mount>& mounts, const Mount& part) {
    const Mount* found = &part;
    for (const Mount& mount : mounts) {
        if (mount.device == part.device && mount.where.size() < found->where.size()) {
            found = &mount;
        }
    }
    return *found;
}

/// "vda1" from "254:1".
std::string name_of_device(const std::string& root, const std::string& numbers) {
    const auto target = facts::link_target(root, "/sys/dev/block/" + numbers);
    return target ? target->substr(target->rfind('/') + 1) : "";
}

}  // namespace

std::string kernel_now() {
    utsname names{};
    return uname(&names) == 0 ? safe(std::string(names.release) + " " + names.version) : "";
}

logbook::Stamp stamp_now(const std::string& root) {
    timespec up{};
    clock_gettime(CLOCK_MONOTONIC, &up);
    logbook::Stamp stamp{
        Instant(std::chrono::seconds(up.tv_sec) + std::chrono::microseconds(up.tv_nsec / 1'000)),
        {}};
    if (is_disciplined() || is_from_a_running_clock(root)) {
        stamp.day = day_of_system();
    }
    return stamp;
}

std::vector<Volume> volumes(const std::string& root, const std::string& folder) {
    std::vector<Volume> found;
    const auto mounts = facts::read_mounts(root);
    if (!mounts) {
        return found;
    }
    const auto add = [&](const Mount& mount, bool is_root) {
        found.push_back({{mount.where, mount.type, is_root}, name_of_device(root, mount.device)});
    };
    const Mount* const top = mount_of(*mounts, "/");
    if (top != nullptr) {
        add(*top, true);
    }
    const Mount* const own = mount_of(*mounts, folder);
    if (own != nullptr && (top == nullptr || own->device != top->device)) {
        add(whole_of(*mounts, *own), false);
    }
    return found;
}

}  // namespace nightlatch::tool
