// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "wave/limits.hpp"
#include "wave/vcd_header.hpp"

#include <cstdint>

namespace nightlatch::wave {

/// Ticks to nanoseconds since the first of them.
class VcdTime {
public:
    explicit VcdTime(VcdTimescale scale) : scale_(scale) {}

    [[nodiscard]] bool begun() const noexcept { return begun_; }

    [[nodiscard]] std::uint64_t latest() const noexcept { return latest_; }

    [[nodiscard]] Duration elapsed() const noexcept { return elapsed_; }

    /// `tick`: not before the latest. False: too long after the first.
    bool advance(std::uint64_t tick) noexcept {
        if (!begun_) {
            begun_ = true;
            first_ = tick;
        }
        latest_ = tick;
        // Rounded by themselves, so that the same tick is the same time whatever came first.
        const std::uint64_t whole =
            scale_.ticks_per_ns == 1 ? tick - first_ : rounded(tick) - rounded(first_);
        constexpr auto most = static_cast<std::uint64_t>(longest_capture.count());
        if (whole > most / scale_.ns_per_tick) {
            return false;
        }
        elapsed_ = Duration(static_cast<Duration::rep>(whole * scale_.ns_per_tick));
        return true;
    }

    [[nodiscard]] bool is_whole(std::uint64_t tick) const noexcept {
        return tick % scale_.ticks_per_ns == 0;
    }

private:
    [[nodiscard]] std::uint64_t rounded(std::uint64_t tick) const noexcept {
        const std::uint64_t rest = tick % scale_.ticks_per_ns;
        return tick / scale_.ticks_per_ns + (rest * 2 >= scale_.ticks_per_ns ? 1 : 0);
    }

    VcdTimescale scale_;
    bool begun_ = false;
    std::uint64_t first_ = 0;
    std::uint64_t latest_ = 0;
    Duration elapsed_{};
};

}  // namespace nightlatch::wave
