// SPDX-License-Identifier: MIT
#include "daemon/guard/guard_keeper.hpp"

#include <utility>

namespace nightlatch::guard {

void GuardKeeper::happened(const supervisor::Event& event) {
    if (ended_) {
        return;
    }
    if (const auto* opened = std::get_if<supervisor::LineOpened>(&event.what)) {
        if (opened->line == core::button_line) {
            line_ = *opened;
            stuck_ = false;
        }
    } else if (const auto* closing = std::get_if<supervisor::LineClosing>(&event.what)) {
        if (closing->line == core::button_line) {
            line_.reset();
        }
    } else if (const core::Note* note = note_of(event)) {
        // In every state: a shutdown that others began finds a stuck button too.
        const bool stuck =
            note->why == core::Why::stuck || note->why == core::Why::pressed_since_start;
        stuck_ = stuck || (stuck_ && note->why != core::Why::release_accepted);
    }
    bring_up_to_date();
}

std::optional<GuardFile> GuardKeeper::wanted() const {
    if (!line_ || stuck_ || settings_->core.act_on == core::ActOn::threshold) {
        return std::nullopt;
    }
    return GuardFile{.chip = line_->facts.chip_name,
                     .offset = line_->facts.offset,
                     .active_low = line_->request.active_low,
                     .bias = line_->request.bias,
                     .release_interval = settings_->core.release_interval};
}

void GuardKeeper::bring_up_to_date() {
    const std::optional<GuardFile> before = std::exchange(tried_, wanted());
    if (std::exchange(up_to_date_, true) && tried_ == before) {
        return;
    }
    if (!tried_) {
        remove_guard_file(path_);
    } else if (const Outcome written = write_guard_file(path_, *tried_); !written) {
        journal_.say(ports::Priority::warning, ports::Message::plain, written.error().text);
    }
}

}  // namespace nightlatch::guard
