// SPDX-License-Identifier: MIT
#pragma once

#include "wave/problems.hpp"
#include "wave/vcd_header.hpp"

#include <string_view>

namespace nightlatch::wave {

/// A wire, register or the like of one bit: not an event, a number or a text.
bool is_one_bit(const VcdSignal& signal) noexcept;

/// The signal that is meant: by its full name, or by the end of it from some scope on ("button",
/// "panel.button"), with or without its bit; the only one-bit signal for an empty name. Several
/// names of one id code are one signal. Null, and an error that names what there is, when that
/// gives none or several.
const VcdSignal* choose_vcd_signal(const VcdHeader& header,
                                   std::string_view wanted,
                                   Problems& problems);

}  // namespace nightlatch::wave
