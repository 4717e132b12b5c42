// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/gpio/button_line.hpp"
#include "daemon/sys/event_loop.hpp"
#include "supervisor/event.hpp"
#include "supervisor/ports/journal.hpp"
#include "supervisor/ports/more_lines.hpp"

#include <functional>
#include <vector>

namespace nightlatch::service {

/// The alarms' real lines, each watched while it is open.
class AlarmLines final : public ports::MoreLines, public supervisor::Follower {
public:
    AlarmLines(sys::EventLoop& loop,
               ports::Journal& journal,
               gpio::Places places,
               std::function<void()> wake)
        : loop_(loop), journal_(journal), places_(std::move(places)), wake_(std::move(wake)) {}

    std::unique_ptr<ports::ButtonLine> make(core::LineIndex line) override;
    void happened(const supervisor::Event& event) override;

private:
    struct Watched {
        gpio::GpioButtonLine* line = nullptr;  ///< the App's
        sys::FdWatch watch;
    };

    sys::EventLoop& loop_;
    ports::Journal& journal_;
    gpio::Places places_;
    std::function<void()> wake_;
    std::vector<Watched> lines_;  ///< by alarm
};

}  // namespace nightlatch::service
