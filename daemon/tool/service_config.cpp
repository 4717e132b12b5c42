// SPDX-License-Identifier: MIT
#include "daemon/tool/service_config.hpp"

#include "daemon/facts/files.hpp"
#include "daemon/sys/config_file.hpp"

namespace nightlatch::tool {
namespace {

constexpr const char* config_folder = "/etc/nightlatch";

std::optional<std::string> why_not(const std::string& root, const char* path) {
    const auto status = facts::status_of(root, path);
    return status ? sys::why_not_trusted(root + path, status->mode, status->uid)
                  : std::nullopt;  // reading it says why
}

}  // namespace

Result<std::string> read_service_config(const std::string& root) {
    if (root.empty()) {
        return sys::read_config_file(default_config, sys::TrustPolicy::anybody);
    }
    auto text = facts::read_file(root, default_config);
    if (text) {
        return std::move(*text);
    }
    const std::string next = text.error().absent() ? ": write one, or name another" : "";
    return Unexpected{Error{Trouble::unsupported, "cannot read " + text.error().text + next}};
}

std::optional<std::string> why_service_refuses(const std::string& root) {
    if (root.empty()) {
        return sys::why_not_trusted(default_config);
    }
    const auto of_file = why_not(root, default_config);
    return of_file ? of_file : why_not(root, config_folder);
}

}  // namespace nightlatch::tool
