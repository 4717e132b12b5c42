// SPDX-License-Identifier: MIT
#pragma once

#include "core/action.hpp"
#include "core/input.hpp"

#include <string>

namespace nightlatch::test {

/// What holds whatever comes: at most one request is outstanding, none leaves while the machine
/// goes down. Sees inputs and actions only, never the core.
class Promises {
public:
    /// To be told of every input before the core is.
    void told(const core::Input& input, Instant now);
    /// An action left; says which promise it breaks.
    std::string left(const core::ActionOut& action, Instant now);

private:
    void answered(const core::Answer& answer);
    void prepared(bool yes, Instant now);
    [[nodiscard]] std::string asked(const core::Ask& ask, Instant now);

    std::uint32_t request_ = 0;  ///< the outstanding one; 0 for none
    Instant asked_at_{};
    Instant free_at_{};           ///< from when another may be asked, though nothing has ended it
    std::uint32_t question_ = 0;  ///< the open one; 0 for none
    Instant question_at_{};
    bool asked_since_ = false;  ///< a request left after the question
    bool going_down_ = false;
    Instant known_going_{};
};

}  // namespace nightlatch::test
