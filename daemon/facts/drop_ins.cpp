// SPDX-License-Identifier: MIT
#include "daemon/facts/drop_ins.hpp"

#include <map>

namespace nightlatch::facts {
namespace {

bool is_masked(const std::string& root, const std::string& path) {
    const Read<std::string> target = link_target(root, path);
    return target && *target == "/dev/null";
}

/// A file hides those of its name in the folders after it.
void add_names(const std::vector<std::string>& names,
               const std::string& folder,
               std::map<std::string, std::string>& by_name) {
    for (const std::string& name : names) {
        if (name.ends_with(".conf")) {
            by_name.try_emplace(name, std::string(folder).append("/").append(name));
        }
    }
}

}  // namespace

Read<std::vector<std::string>> drop_ins(const std::string& root,
                                        std::span<const std::string> folders) {
    std::map<std::string, std::string> by_name;
    for (const std::string& folder : folders) {
        const auto names = names_in(root, folder);
        if (!names && !names.error().absent()) {
            return Unexpected{names.error()};
        }
        if (names) {
            add_names(*names, folder, by_name);
        }
    }
    std::erase_if(by_name, [&](const auto& file) { return is_masked(root, file.second); });
    std::vector<std::string> paths;
    paths.reserve(by_name.size());
    for (auto& [name, path] : by_name) {
        paths.push_back(std::move(path));
    }
    return paths;
}

}  // namespace nightlatch::facts
