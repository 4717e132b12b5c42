// SPDX-License-Identifier: MIT
#pragma once

#include "wave/timeline.hpp"

#include <string>

namespace nightlatch::wave {

/// The timeline as a four-state value change dump [IEEE 1364-2005, clause 18], for any waveform
/// viewer. Nanoseconds; no date, so that the same timeline gives the same text. In the scope
/// `nightlatch`, all of one bit:
///
/// | signal        | 1 while                                                                    |
/// | ------------- | -------------------------------------------------------------------------- |
/// | `button`      | the line itself is at its pressed level; x where that is not known         |
/// | `settled`     | the same, debounced                                                        |
/// | `request`     | from a request on until the cue next goes from `leaving` to another one    |
/// | `cue_holding` | this cue is shown; a wire for each cue there is, as a value that is a text  |
/// |               | is an extension that only some viewers know                                |
/// | `decision`    | an event, in the moment of each decision                                   |
std::string write_vcd(const Timeline& timeline);

}  // namespace nightlatch::wave
