// SPDX-License-Identifier: MIT
#include "daemon/facts/watchdogs.hpp"

#include "daemon/facts/files.hpp"

namespace nightlatch::facts {
namespace {

constexpr const char* watchdogs = "/sys/class/watchdog";

audit::Watchdog watchdog_at(const std::string& root, const std::string& name) {
    const std::string folder = std::string(watchdogs) + "/" + name + "/";
    audit::Watchdog watchdog;
    watchdog.name = name;
    if (const Read<std::string> identity = read_value(root, folder + "identity")) {
        watchdog.identity = *identity;
    }
    const Read<std::string> state = read_value(root, folder + "state");
    watchdog.active =
        state ? Known<bool>(*state == "active") : Known<bool>::missing(state.error().text);
    const Read<long long> timeout = read_number(root, folder + "timeout");
    watchdog.timeout = timeout ? Known<Duration>(std::chrono::seconds(*timeout))
                               : Known<Duration>::missing(timeout.error().text);
    const Read<long long> nowayout = read_number(root, folder + "nowayout");
    watchdog.nowayout =
        nowayout ? Known<bool>(*nowayout != 0) : Known<bool>::missing(nowayout.error().text);
    return watchdog;
}

}  // namespace

Known<std::vector<audit::Watchdog>> read_watchdogs(const std::string& root) {
    const Read<std::vector<std::string>> names = class_devices(root, "watchdog");
    if (!names) {
        return Known<std::vector<audit::Watchdog>>::missing(names.error().text);
    }
    std::vector<audit::Watchdog> found;
    for (const std::string& name : *names) {
        found.push_back(watchdog_at(root, name));
    }
    return found;
}

}  // namespace nightlatch::facts
