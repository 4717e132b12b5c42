// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::facts {

/// What the files of an image make the login manager and the service manager do. What no file sets
/// is systemd's own default, where systemd is in the image [logind.conf(5),
/// systemd-system.conf(5)].
void read_logind_config(const std::string& root, audit::LoginFacts& login);
audit::ServiceManagerFacts read_manager_config(const std::string& root);

/// Each key's assignments, in their order.
using SystemdKeys = std::map<std::string, std::vector<std::string>, std::less<>>;

/// Takes a file's assignments in one section into `keys`: an empty one takes back what stood before
/// it [systemd.syntax(7)].
void take_section(std::string_view text, std::string_view section, SystemdKeys& keys);

/// "2min 30s", "infinity" (the longest Duration), bare seconds; nothing for what is none
/// [systemd.time(7)].
std::optional<Duration> time_span(std::string_view text);

}  // namespace nightlatch::facts
