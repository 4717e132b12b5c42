// SPDX-License-Identifier: MIT
#include "supervisor/status_line.hpp"

namespace nightlatch::supervisor {

void StatusLine::happened(const Event& event) {
    std::visit([this](const auto& what) { take(what); }, event.what);
}

// What becomes of the line is told with the cue that it leads to.

void StatusLine::take(const LineOpened& opened) {
    if (opened.line == core::button_line) {
        standing_.button = opened.request.where;
        standing_.watching = true;
    }
}

void StatusLine::take(const LineLost& lost) {
    if (lost.line == core::button_line) {
        standing_.button = lost.where;
    }
}

void StatusLine::take(const LineClosing& closing) {
    standing_.watching = standing_.watching && closing.line != core::button_line;
}

void StatusLine::take(const CueShown& shown) {
    standing_.state = shown.cue.state;
    any_shown_ = true;
    update();
}

void StatusLine::on_disk(const std::string& trouble) {
    standing_.bad_file = trouble;
    update_if_shown();
}

void StatusLine::take(const PostHaltLooked& looked) {
    standing_.post_halt = looked.report.verdict;
    update_if_shown();
}

void StatusLine::update_if_shown() {
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
