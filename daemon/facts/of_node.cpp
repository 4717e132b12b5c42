// SPDX-License-Identifier: MIT
#include "daemon/facts/of_node.hpp"

#include "daemon/facts/files.hpp"

namespace nightlatch::facts {

std::string node_of_device(const std::string& root, const std::string& device) {
    const Read<std::string> target = link_target(root, device + "/of_node");
    return target ? node_in_link(*target) : std::string{};
}

std::string node_in_link(std::string_view target) {
    constexpr std::string_view mark = "/devicetree/base";
    const std::size_t at = target.find(mark);
    if (at == std::string_view::npos) {
        return {};
    }
    const std::string_view path = target.substr(at + mark.size());
    if (path.empty()) {
        return "/";
    }
    return path.front() == '/' ? std::string(path) : std::string{};
}

}  // namespace nightlatch::facts
