// SPDX-License-Identifier: MIT
#include "supervisor/status_line.hpp"

namespace nightlatch::supervisor {

void StatusLine::happened(const Event& event) {
    std::visit([this](const auto& what) { take(what); }, event.what);
}

// What becomes of the line is told with the cue that it leads to.

void StatusLine::take(const LineOpened& opened) {
    standing_.button = opened.request.where;
    standing_.watching = true;
}

void StatusLine::take(const LineLost& lost) {
    standing_.button = lost.where;
}

void StatusLine::take(const LineClosing& /*closing*/) {
    standing_.watching = false;
}

void StatusLine::take(const CueShown& shown) {
    standing_.state = shown.cue.state;
    any_shown_ = true;
    update();
}

void StatusLine::take(const PostHaltLooked& looked) {
    standing_.post_halt = looked.report.verdict;
    if (any_shown_) {
        update();
    }
}

void StatusLine::update() {
    std::string text = tell(standing_);
    if (text != text_) {
        text_ = std::move(text);
        changed_(text_);
    }
}

}  // namespace nightlatch::supervisor
