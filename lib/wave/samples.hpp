// SPDX-License-Identifier: MIT
#pragma once

#include "wave/capture.hpp"

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::wave {

/// Makes a capture of samples of one signal. What counts at an instant is the last sample of it: a
/// level that lasts no nanosecond is not an edge.
class Samples {
public:
    explicit Samples(std::size_t most_edges) : most_edges_(most_edges) {}

    /// `at`: since the start, not before the sample before; `level`: nothing when it is not known.
    void add(Duration at, std::optional<Level> level);

    /// No more samples will come: the last instant counts too.
    void close();

    /// There were more edges than a capture may have: stop reading.
    [[nodiscard]] bool too_many() const noexcept { return too_many_; }

    /// The sentence for that.
    [[nodiscard]] std::string too_many_text() const;

    /// Nothing when the level was never known; only when closed. `end`: not before the last sample.
    [[nodiscard]] std::optional<Capture> capture(std::string signal, Duration end) &&;

private:
    struct Sample {
        Duration at{};
        std::optional<Level> level;
    };

    void settle();
    void edge_to(Level level, Duration at);

    std::size_t most_edges_;
    std::optional<Sample> latest_;  ///< of the instant that is not over yet
    std::optional<Level> start_;
    Level level_ = Level::inactive;
    bool known_ = true;  ///< whether the last instant's level was
    bool any_ = false;   ///< whether an instant is over
    std::size_t unknown_ = 0;
    std::vector<CapturedEdge> edges_;
    bool too_many_ = false;
};

}  // namespace nightlatch::wave
