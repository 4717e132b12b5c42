// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "core/cue.hpp"
#include "rehearsal/press_script.hpp"
#include "supervisor/event.hpp"
#include "supervisor/ports/journal.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace nightlatch::rehearsal {

/// Whose doing a line of a run's account is.
enum class Whose : unsigned char {
    button,
    chip,
    cue,
    decision,
    request,
    login,    ///< the login manager
    service,  ///< the service itself: starts again, reads its configuration anew
    warning,
    info,
    detail,  ///< what only somebody who looks for a mistake wants to know
    remark,
};

/// The word before the line; empty for `info`, `detail` and `remark`.
std::string_view text_of(Whose whose) noexcept;

/// One line of the account of a run, simulated or rehearsed: both tell it in the same words.
struct Moment {
    Duration at{};  ///< since the start of the script
    Whose whose = Whose::info;
    std::string text;

    bool operator==(const Moment&) const = default;
};

Whose whose_of(ports::Priority priority, ports::Message message) noexcept;

/// "holding, until 8.000 s"; times since `start`.
std::string cue_text(const core::Cue& cue, Instant start);

/// "   12.400 s  button    released"; a remark stands alone.
std::string line_of(const Moment& moment);

/// A step of the press script as it is told. Edges are many: their text needs no memory.
Moment moment_of(Duration at, const ScriptStep& step);

/// An event as it is told, times since `start`; nothing where it has no line. `details`: with what
/// a journal would not show.
std::optional<Moment> moment_of(const supervisor::Event& event,
                                Instant start,
                                bool details = false);

/// "   12.400 s": right-aligned, so that moments below one another line up.
std::string moment_text(Duration at);

/// "12.400 s".
std::string short_moment(Duration at);

}  // namespace nightlatch::rehearsal
