// SPDX-License-Identifier: MIT
#pragma once

#include "run_tool.hpp"
#include "support/temporary_directory.hpp"

#include <algorithm>
#include <sstream>
#include <string>

namespace nightlatch::test {

/// Without the line ends that fit a text on a page.
inline std::string flat(std::string text) {
    std::replace(text.begin(), text.end(), '\n', ' ');
    return text;
}

/// As words with one blank between them, however they are laid out.
inline std::string words_in(const std::string& text) {
    std::istringstream in(text);
    std::string words;
    for (std::string word; in >> word;) {
        words += (words.empty() ? "" : " ") + word;
    }
    return words;
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
