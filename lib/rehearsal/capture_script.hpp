// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "rehearsal/press_script.hpp"
#include "wave/capture.hpp"

#include <string>

namespace nightlatch::rehearsal {

/// After the capture its last level is kept so long, so that what it began comes to an end.
constexpr Duration kept_after_capture = std::chrono::seconds(5);

/// The capture played as the button, with the rest of `around` (the login manager, the service,
/// what is expected). Fails with a sentence when that presses the button as well.
Result<PressScript, std::string> play_capture(const wave::Capture& capture,
                                              bool active_low,
                                              PressScript around);

}  // namespace nightlatch::rehearsal
