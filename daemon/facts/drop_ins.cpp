// SPDX-License-Identifier: MIT
#include "daemon/facts/drop_ins.hpp"

#include <map>

namespace nightlatch::facts {
namespace {

bool is_masked(const std::string& root, const std::string& path) {
    const Read<std::string> target = link_target(root, path);
    return target && *target == "/dev/null";
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
        for (const std::string& name : names ? *names : std::vector<std::string>{}) {
            if (name.ends_with(".conf")) {
                by_name.try_emplace(name, folder + "/" + name);
            }
        }
    }
    std::erase_if(by_name, [&](const auto& file) { return is_masked(root, file.second); });
    std::vector<std::string> paths;
    for (auto& [name, path] : by_name) {
        paths.push_back(std::move(path));
    }
    return paths;
}

}  // namespace nightlatch::facts
