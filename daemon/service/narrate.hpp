// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "core/action.hpp"
#include "core/trace.hpp"
#include "daemon/ports/journal.hpp"

#include <string>
#include <string_view>

namespace nightlatch::service {

/// How loud a note of the core is told, and as which kind of message.
struct Told {
    ports::Priority priority = ports::Priority::debug;
    ports::Message message = ports::Message::plain;
};

Told rank(const core::Note& note) noexcept;

/// The note as a person is told it. `answer` is the login manager's last text.
std::string tell(const core::Note& note,
                 const config::Settings& settings,
                 const std::string& answer);

/// "FRONT_BUTTON on soc-gpio".
std::string text_of(const config::LineName& line);

std::string_view text_of(core::Action action) noexcept;

}  // namespace nightlatch::service
