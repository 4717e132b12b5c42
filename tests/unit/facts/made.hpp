// SPDX-License-Identifier: MIT
#pragma once

#include "base/ensure.hpp"
#include "support/temporary_directory.hpp"

#include <filesystem>
#include <fstream>
#include <string>
#include <string_view>

namespace nightlatch::test {

/// A folder with a machine's files in it, as a test made them up.
class MadeFolder {
public:
    [[nodiscard]] const std::string& root() const noexcept { return directory_.path(); }

    void folder(const std::string& path) const {
        std::filesystem::create_directories(root() + path);
    }

    void file(const std::string& path, std::string_view bytes) const {
        std::filesystem::create_directories(std::filesystem::path(root() + path).parent_path());
        std::ofstream file(root() + path, std::ios::binary);
        file << bytes;
        file.close();
        NIGHTLATCH_ENSURE(file.good());
    }

    void link(const std::string& path, const std::string& target) const {
        std::filesystem::create_directories(std::filesystem::path(root() + path).parent_path());
        std::filesystem::create_symlink(target, root() + path);
    }

private:
    TemporaryDirectory directory_;
};

}  // namespace nightlatch::test
