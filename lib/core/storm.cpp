// SPDX-License-Identifier: MIT
#include "core/storm.hpp"

#include "base/duration_text.hpp"
#include "core/limits.hpp"

namespace nightlatch::core {

using namespace std::chrono_literals;

bool Storm::count(Instant stamp, std::uint32_t edges) noexcept {
    if (!counting_ || stamp >= second_begin_ + 2s) {
        reset();
        counting_ = true;
        second_begin_ = stamp;
    } else if (stamp >= second_begin_ + 1s) {
        last_second_ = edges_;
        hot_seconds_ = edges_ > limits::storm_edges ? hot_seconds_ + 1 : 0;
        edges_ = 0;
        second_begin_ += 1s;
    }
    edges_ += edges;
    return hot_seconds_ >= limits::storm_seconds;
}

std::uint32_t Storm::rate() const noexcept {
    return static_cast<std::uint32_t>(last_second_ != 0 ? last_second_ : edges_);
}

std::string storm_text() {
    static_assert(limits::storm_edges >= 1'000 && limits::storm_edges < 1'000'000);
    const std::string edges = std::to_string(limits::storm_edges);
    const std::size_t comma = edges.size() - 3;
    return "more than " + edges.substr(0, comma) + "," + edges.substr(comma) +
           " edges a second for " + to_text(std::chrono::seconds(limits::storm_seconds));
}

}  // namespace nightlatch::core
