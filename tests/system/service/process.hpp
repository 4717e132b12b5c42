// SPDX-License-Identifier: MIT
#pragma once

#include <optional>
#include <string>
#include <vector>

#include <sys/types.h>

namespace nightlatch::test {

/// A child process, its output in a file. Killed when it is still there at the end.
class Process {
public:
    Process(std::vector<std::string> command, std::string output_file);
    ~Process();
    Process(const Process&) = delete;
    Process& operator=(const Process&) = delete;

    void signal(int number) const;
    /// Its exit status once it has ended; 128 plus the signal that ended it.
    [[nodiscard]] std::optional<int> ended();
    /// What it has written so far.
    [[nodiscard]] std::string output() const;
    [[nodiscard]] bool said(const std::string& text) const;

private:
    std::string output_file_;
    pid_t child_ = 0;
    std::optional<int> status_;
};

}  // namespace nightlatch::test
