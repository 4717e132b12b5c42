// SPDX-License-Identifier: MIT
#include "daemon/facts/kernel_facts.hpp"

#include "daemon/facts/files.hpp"
#include "daemon/facts/kernel.hpp"

#include <algorithm>

namespace nightlatch::facts {
namespace {

Known<std::vector<std::string>> installed(const std::string& root) {
    Read<std::vector<std::string>> names = names_in(root, "/usr/lib/modules");
    if (!names && names.error().absent()) {
        names = names_in(root, "/lib/modules");
    }
    if (!names && names.error().absent()) {
        return std::vector<std::string>{};
    }
    if (names) {
        std::erase_if(*names, [](const std::string& name) { return !kernel_version(name); });
    }
    return known(std::move(names));
}

}  // namespace

audit::KernelFacts read_kernel_facts(const std::string& root) {
    return {known(read_value(root, "/proc/cmdline")), installed(root)};
}

}  // namespace nightlatch::facts
