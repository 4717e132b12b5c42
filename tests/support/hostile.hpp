// SPDX-License-Identifier: MIT
#pragma once

#include "support/seeds.hpp"

#include <string>
#include <string_view>
#include <vector>

/// Names as somebody might choose them who wants to steer a terminal or forge a line.
namespace nightlatch::test {

/// What a forged line would begin with: it stands after a line end in every hostile name.
inline constexpr std::string_view forged = "forged-line";

/// Draws names of random bytes, controls, marks, separators and letters.
class HostileNames {
public:
    explicit HostileNames(std::uint64_t seed) : dice_(seed) {}

    std::string next();
    /// The same without what a C string or a list of strings cannot hold.
    std::string next_string();
    /// The same with what is not UTF-8 left out.
    std::string next_utf8();

private:
    std::string piece(bool bytes);

    Dice dice_;
};

/// Empty when each line is safe but for the tabs that it begins with, and none is forged; else the
/// line that is not, made safe.
std::string line_that_steers(std::string_view shown);

}  // namespace nightlatch::test
