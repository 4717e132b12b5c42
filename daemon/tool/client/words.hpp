// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "daemon/tool/client/service_state.hpp"

#include <span>
#include <string>
#include <string_view>

/// The service's state in words. Safe text: what is foreign in it was made safe here.
namespace nightlatch::tool {

/// One reason code of the published list.
struct ReasonCode {
    std::string_view code;
    std::string_view sentence;
};

std::span<const ReasonCode> reason_codes();

/// Why the cue is what it is, with what goes with the code; empty where there is nothing to say.
std::string reason_words(const ReasonSeen& reason);

/// The cue as a sentence without its stop, as of `now`: what is happening, and what the person may
/// do.
std::string cue_words(const ServiceState& state, Instant now);

/// "off (power-off)".
std::string stage_words(const StageSeen& stage);

/// Why nothing is known of the cue, and what to do about it.
std::string absent_words(Absent why, const std::string& detail);

/// "announced: write now".
std::string announced_words(const std::string& name);

/// "[#####-----]", so many characters in all; at least 3.
std::string bar(double part, unsigned width);

}  // namespace nightlatch::tool
