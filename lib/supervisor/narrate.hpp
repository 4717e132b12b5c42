// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "core/action.hpp"
#include "core/trace.hpp"
#include "supervisor/ports/journal.hpp"
#include "supervisor/ports/post_halt_check.hpp"

#include <string>
#include <string_view>

namespace nightlatch::supervisor {

/// How loud a note of the core is told, and as which kind of message.
struct Told {
    ports::Priority priority = ports::Priority::debug;
    ports::Message message = ports::Message::plain;
};

Told rank(const core::Note& note) noexcept;

/// The note as a person is told it. `reason` is what refused or answered: the login manager's last
/// text, or why the post-halt line would not be raised.
std::string tell(const core::Note& note,
                 const config::Settings& settings,
                 const std::string& reason);

/// "the post-halt line is contradicted: REASON; see `sudo nightlatch audit`".
std::string tell(const ports::PostHaltReport& report);

/// Would the supply stay on after a power-off?
constexpr bool stays_on(const ports::PostHaltReport& report) noexcept {
    return report.verdict == core::Verdict::contradicted || report.verdict == core::Verdict::absent;
}

/// "FRONT_BUTTON on soc-gpio".
std::string text_of(const config::LineName& line);

std::string_view text_of(core::Action action) noexcept;

}  // namespace nightlatch::supervisor
