// SPDX-License-Identifier: MIT
#include "daemon/login/locks.hpp"

#include "base/text.hpp"
#include "daemon/bus/sd_bus.hpp"

#include <algorithm>

namespace nightlatch::login {
namespace {

constexpr std::size_t locks_shown = 3;

}  // namespace

bool blocks_shutdown(const Lock& lock) {
    if (lock.mode != "block" && lock.mode != "block-weak") {
        return false;
    }
    const std::string what = ":" + lock.what + ":";
    return what.find(":shutdown:") != std::string::npos;
}

std::optional<std::vector<Lock>> all_locks(sd_bus_message* reply) {
    if (sd_bus_message_is_method_error(reply, nullptr) > 0 ||
        sd_bus_message_enter_container(reply, 'a', "(ssssuu)") < 0) {
        return std::nullopt;
    }
    std::vector<Lock> locks;
    const char* what = nullptr;
    const char* who = nullptr;
    const char* why = nullptr;
    const char* mode = nullptr;
    std::uint32_t uid = 0;
    std::uint32_t pid = 0;
    int r = 0;
    while ((r = sd_bus_message_read(reply, "(ssssuu)", &what, &who, &why, &mode, &uid, &pid)) > 0) {
        locks.push_back({what, who, why, mode, uid, pid});
    }
    if (r < 0) {
        return std::nullopt;
    }
    return locks;
}

std::optional<std::vector<Lock>> blocking_locks(sd_bus_message* reply) {
    auto locks = all_locks(reply);
    if (locks) {
        std::erase_if(*locks, [](const Lock& lock) { return !blocks_shutdown(lock); });
    }
    return locks;
}

std::string text_of(const std::vector<Lock>& locks) {
    std::string text;
    const std::size_t shown = std::min(locks.size(), locks_shown);
    for (std::size_t i = 0; i < shown; ++i) {
        const Lock& lock = locks[i];
        text += (i == 0 ? "" : ", ") + in_quotes(lock.who, longest_text) + " (uid " +
                std::to_string(lock.uid) + ", pid " + std::to_string(lock.pid) +
                "): " + in_quotes(lock.why, longest_text);
    }
    if (locks.size() > shown) {
        text += ", and " + std::to_string(locks.size() - shown) + " more";
    }
    return text;
}

std::optional<ports::Blocker> blocker_of(const std::optional<std::vector<Lock>>& locks) {
    if (!locks || locks->empty()) {
        return std::nullopt;
    }
    const Lock& first = locks->front();
    return ports::Blocker{shortened(first.who, longest_text), shortened(first.why, longest_text)};
}

}  // namespace nightlatch::login
