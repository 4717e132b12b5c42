// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "bounce/advice.hpp"
#include "config/settings.hpp"
#include "daemon/tool/options.hpp"
#include "daemon/tool/wave_file.hpp"
#include "page/page.hpp"

#include <chrono>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::tool {

struct BounceOptions {
    std::vector<std::string> line;      ///< NAME, CHIP:LINE, or CHIP and LINE; empty: configured
    std::optional<std::string> config;  ///< without one and without a line: the service's own
    std::optional<lines::Bias> bias;    ///< else the configuration's, else as it is
    std::optional<bool> pressed_low;    ///< else the configuration's, else not the rest level
    std::size_t presses = 10;
    Duration time = std::chrono::minutes(2);
    Duration quiet = std::chrono::milliseconds(200);  ///< ends an episode
    std::optional<std::string> wave;                  ///< a capture to measure instead
    WaveChoice of_wave;
    std::optional<std::string> vcd;  ///< where to write the recording
    bool json = false;
};

/// What is measured, and what it is measured against.
struct BounceTarget {
    std::string name;       ///< "FRONT_BUTTON", or the capture's file and signal
    bool captured = false;  ///< not on a line of this machine
    bool pressed_low = true;
    bool pressed_told = true;  ///< by the person or the configuration; else not the rest level
    lines::Bias bias = lines::Bias::as_is;
    bool sleeps = false;  ///< the chip is behind a bus: edges come late
    std::string config;   ///< the configuration's file; empty without one
    std::optional<bounce::Intervals> configured;
    std::optional<Duration> shortest_hold;  ///< of the configuration's stages
    Duration quiet{};
    std::size_t wanted = 1;  ///< whole presses
};

enum class BounceEnd : unsigned char {
    enough,    ///< so many presses as were wanted
    time,      ///< time was up
    signal,    ///< the person ended it
    floats,    ///< the line moves with nobody pressing, or storms
    restless,  ///< an episode would not end
    pressed,   ///< the line rests at the level that is called pressed
    recorded,  ///< the capture's end
};

/// One press; its release is not there while it lasts.
struct BouncePress {
    std::optional<bounce::BounceEpisode> press;
    std::optional<bounce::BounceEpisode> release;

    /// From the last edge of pressing to the first of letting go: never overstated.
    [[nodiscard]] std::optional<Duration> held() const;
};

/// The first so many presses are kept one by one; the report counts all.
inline constexpr std::size_t most_presses = 1000;

struct BounceSeen {
    bounce::BounceReport report;
    std::vector<BouncePress> presses;
    std::size_t unasked = 0;  ///< edges before the person was asked to press
    BounceEnd end = BounceEnd::recorded;
    /// What the configured debounce makes of it.
    std::optional<bounce::BounceTrial> trial;
    std::vector<std::string> remarks;  ///< sentences: what a capture's reader has to say

    void take(const bounce::BounceEpisode& episode);
};

bounce::BounceOutcome verdict_of(const BounceTarget& target, const BounceSeen& seen);

/// The verdict and the next action, the block to paste, the figures, how they were come by.
std::string bounce_text(const BounceTarget& target,
                        const BounceSeen& seen,
                        const page::Style& style = {});

/// The same for programs; see nightlatch-bounce(1).
std::string bounce_json(const BounceTarget& target, const BounceSeen& seen);

/// 0 fine, 1 something to report.
int bounce_status(const BounceTarget& target, const BounceSeen& seen);

/// What `bounce` can be told.
void describe_bounce(Options& options, BounceOptions& into);

/// The command as a whole, to standard output and standard error. 1 also when the line is not
/// available; 2: usage, a configuration or a capture that is wrong.
int run_bounce(const BounceOptions& options);

}  // namespace nightlatch::tool
