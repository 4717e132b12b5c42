// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/client/service_state.hpp"
#include "daemon/tool/terminal.hpp"
#include "page/page.hpp"

#include <string>

/// What `follow` shows to a person, as text for a terminal or a pipe.
namespace nightlatch::tool {

/// What is to be seen: a state, or why there is none.
struct Sight {
    std::string cue;    ///< one word; "absent" without a service
    std::string words;  ///< safe
    double part = 0;    ///< of the way, while `moving`
    bool moving = false;
};

Sight sight_of(const ServiceState& state, Instant now);
Sight sight_of(Absent why, const std::string& detail);

/// The first characters of a safe text, "…" the last of them where it was cut.
std::string cut(const std::string& text, unsigned columns);

/// One line, no longer than `columns`: "holding    [####------] held 1.2 s: …". For a terminal,
/// which breaks a line that fills it, one less than it has.
std::string live_line(const Sight& sight, const page::Style& style, unsigned columns);

/// One line for a pipe, whole.
std::string plain_line(const Sight& sight);

/// The whole terminal, from its first place: the cue, the bar and the sentence in the middle.
std::string full_screen(const Sight& sight, const page::Style& style, TerminalSize size);

}  // namespace nightlatch::tool
