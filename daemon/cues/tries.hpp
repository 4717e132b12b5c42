// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

namespace nightlatch::cues {

/// How long to be patient with an output that fails.
struct Patience {
    Duration whole = std::chrono::seconds{10};  ///< for udev, and for what is yet to come at boot
    Duration pause = std::chrono::seconds{10};  ///< at least, between tries after that
};

/// When to try again what failed: at first soon and by itself, from 10 ms up to 1 s apart; when the
/// patience is over it is told once, and further tries are made only for a reason and not too
/// often.
class Tries {
public:
    struct Next {
        Instant at = never;  ///< try again then; never: only for a reason
        bool tell = false;   ///< say now what is wrong
    };

    explicit Tries(Patience patience) noexcept : patience_(patience) {}

    Next failed(Instant now) noexcept;

    /// Gives whether the failure had been told, so that its end is worth a line too.
    bool succeeded() noexcept;

    /// Something changed for the better, though it does not work yet: patience anew.
    void progressed() noexcept;

    /// Did the last try fail?
    [[nodiscard]] bool failing() const noexcept { return given_up_ || step_ != Duration{}; }

    /// When a try for a reason may be made: `now` or later.
    [[nodiscard]] Instant allowed(Instant now) const noexcept;

private:
    Patience patience_;
    Duration step_{};  ///< to the next try by itself; 0: none is due
    Instant over_{};
    bool given_up_ = false;
    bool told_ = false;
    Instant not_before_{};
};

}  // namespace nightlatch::cues
