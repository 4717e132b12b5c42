// SPDX-License-Identifier: MIT
#include "daemon/service/alarm_lines.hpp"

namespace nightlatch::service {

std::unique_ptr<ports::ButtonLine> AlarmLines::make(core::LineIndex line) {
    auto made = std::make_unique<gpio::GpioButtonLine>(places_);
    while (lines_.size() < line) {
        lines_.push_back({nullptr, loop_.fd_watch([this](sys::FdReady) { wake_(); })});
    }
    lines_[line - 1].line = made.get();
    return made;
}

void AlarmLines::happened(const supervisor::Event& event) {
    if (const auto* opened = std::get_if<supervisor::LineOpened>(&event.what)) {
        if (opened->line == core::button_line) {
            return;
        }
        Watched& alarm = lines_.at(opened->line - 1);
        if (const Outcome watched = alarm.watch.start(alarm.line->fd()); !watched) {
            journal_.say(ports::Priority::error, ports::Message::line_fault, watched.error().text);
        }
    } else if (const auto* closing = std::get_if<supervisor::LineClosing>(&event.what)) {
        if (closing->line != core::button_line) {
            lines_.at(closing->line - 1).watch.stop();
        }
    }
}

}  // namespace nightlatch::service
