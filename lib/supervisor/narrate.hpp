// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "core/action.hpp"
#include "supervisor/event.hpp"
#include "supervisor/ports/journal.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

/// The one place where what happens is put into words.
namespace nightlatch::supervisor {

/// How loud an event is told, and as which kind of message.
struct Told {
    ports::Priority priority = ports::Priority::debug;
    ports::Message message = ports::Message::plain;
};

/// Nothing when an event has no words.
std::optional<Told> rank(const Event& event);

/// The event as a person is told it; empty when it has no words.
std::string tell(const Event& event);

/// `let go after 3.200 s: stage "off", power-off`.
std::string tell(const Cause& cause);

/// What programs that read the journal find beside the words.
std::vector<ports::Field> fields_of(const Event& event);

/// How things stand, for a status line.
struct Standing {
    core::State state = core::State::waiting;
    bool watching = false;
    lines::LineName button;
    core::Verdict post_halt = core::Verdict::cannot_tell;
    std::string bad_file;  ///< what is wrong with the configuration on disk; empty: nothing
};

/// "rest: watching FRONT_BUTTON on soc-gpio; post-halt line: configured, not yet proven".
std::string tell(const Standing& standing);

/// "FRONT_BUTTON on soc-gpio".
std::string text_of(const lines::LineName& line);

std::string_view text_of(core::Action action) noexcept;

}  // namespace nightlatch::supervisor
