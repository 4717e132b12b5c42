// SPDX-License-Identifier: MIT
#pragma once

#include <filesystem>
#include <fstream>
#include <string>

#include <catch2/catch_test_macros.hpp>

namespace nightlatch::test {

/// Is this process's only timerfd, the event loop's, set for an instant to come? That is the whole
/// of "will anything wake us by time" [proc(5), /proc/pid/fdinfo].
inline bool kernel_timer_is_set() {
    for (const auto& entry : std::filesystem::directory_iterator{"/proc/self/fd"}) {
        std::error_code gone;  // the iterator's own descriptor is among them
        if (std::filesystem::read_symlink(entry.path(), gone) != "anon_inode:[timerfd]") {
            continue;
        }
        std::ifstream info{"/proc/self/fdinfo/" + entry.path().filename().string()};
        for (std::string line; std::getline(info, line);) {
            if (line.rfind("it_value:", 0) == 0) {
                return line != "it_value: (0, 0)";
            }
        }
    }
    FAIL("no timerfd");
    return false;
}

}  // namespace nightlatch::test
