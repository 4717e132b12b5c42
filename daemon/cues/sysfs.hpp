// SPDX-License-Identifier: MIT
#pragma once

#include <string>
#include <string_view>

/// One attribute file of sysfs, opened, used and closed: a driver may remove it at any time.
namespace nightlatch::cues {

struct FileRead {
    int number = 0;  ///< errno, 0: fine
    std::string text;
};

FileRead read_file(const std::string& path);

/// One write(2) of the whole text, as sysfs wants it; gives errno, 0 for success.
int write_file(const std::string& path, std::string_view text);

}  // namespace nightlatch::cues
