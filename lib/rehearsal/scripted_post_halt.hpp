// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/ports/post_halt_check.hpp"

namespace nightlatch::rehearsal {

/// What the press script says that the service finds; by default nothing can be told: a chip that
/// is no chip has no post-halt line beside it.
class ScriptedPostHalt final : public ports::PostHaltCheck {
public:
    explicit ScriptedPostHalt(core::Verdict verdict) noexcept : verdict_(verdict) {}

    ports::PostHaltReport look(const config::Settings&, ports::LookAt) override {
        return {verdict_,
                verdict_ == core::Verdict::cannot_tell ? "the chip is simulated"
                                                       : "the press script says so"};
    }

private:
    core::Verdict verdict_;
};

}  // namespace nightlatch::rehearsal
