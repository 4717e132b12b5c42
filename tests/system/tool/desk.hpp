// SPDX-License-Identifier: MIT
#pragma once

#include "run_tool.hpp"
#include "support/temporary_directory.hpp"

#include <algorithm>
#include <string>

namespace nightlatch::test {

/// Without the line ends that fit a text on a page.
inline std::string flat(std::string text) {
    std::replace(text.begin(), text.end(), '\n', ' ');
    return text;
}

/// Files that the tool is given.
struct Desk {
    TemporaryDirectory folder;

    [[nodiscard]] std::string path(const std::string& name) const {
        return folder.path() + "/" + name;
    }

    [[nodiscard]] std::string file(const std::string& name, const std::string& text) const {
        write(path(name), text);
        return path(name);
    }
};

}  // namespace nightlatch::test
