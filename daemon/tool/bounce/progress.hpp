// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/bounce/run.hpp"

#include <cstdio>
#include <string>

namespace nightlatch::tool {

/// What the person is told while they press: on a terminal one line that is written anew, elsewhere
/// a line for each press.
class BounceProgress {
public:
    BounceProgress(std::FILE* to, const BounceTarget& target);

    void say(const std::string& text);

    /// Presses count from now on, or an episode is over.
    void step(const Bouncing& bouncing);

    /// The next text begins on a line of its own.
    void end();

private:
    void ask(bool pressed_low);

    std::FILE* to_;
    const BounceTarget& target_;
    bool terminal_;
    bool asked_ = false;
    std::size_t told_ = 0;  ///< presses, or taps
    bool open_line_ = false;
};

/// "  3 of 10   pressing to 1.2 ms, letting go to 400 us; 2 too quick"
std::string progress_line(const BounceSeen& seen, std::size_t wanted);

/// "press 3: 5 edges in 1.2 ms; held 0.9 s; letting go: 1 edge"
std::string press_line(const BouncePress& press, std::size_t number);

}  // namespace nightlatch::tool
