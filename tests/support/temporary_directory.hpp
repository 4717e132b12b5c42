// SPDX-License-Identifier: MIT
#pragma once

#include "base/ensure.hpp"

#include <cstdlib>
#include <filesystem>
#include <string>

namespace nightlatch::test {

/// A directory of the test's own, gone with all that is in it at the end.
class TemporaryDirectory {
public:
    TemporaryDirectory()
        : path_((std::filesystem::temp_directory_path() / "nightlatch-XXXXXX").string()) {
        NIGHTLATCH_ENSURE(mkdtemp(path_.data()) != nullptr);
    }

    TemporaryDirectory(const TemporaryDirectory&) = delete;
    TemporaryDirectory& operator=(const TemporaryDirectory&) = delete;

    ~TemporaryDirectory() {
        std::error_code ignored;
        std::filesystem::remove_all(path_, ignored);
    }

    [[nodiscard]] const std::string& path() const noexcept { return path_; }

private:
    std::string path_;
};

}  // namespace nightlatch::test
