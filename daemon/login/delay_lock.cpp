// SPDX-License-Identifier: MIT
#include "daemon/login/delay_lock.hpp"

#include "daemon/login/login1.hpp"
#include "daemon/login/texts.hpp"

#include <algorithm>

#include <fcntl.h>

namespace nightlatch::login {
namespace {

constexpr Duration longest_pause = std::chrono::seconds(60);

}  // namespace

DelayLock::DelayLock(sys::EventLoop& loop, ports::Journal& journal, Duration first_pause)
    : loop_(loop), journal_(journal), later_(loop.timer([this] { update(); })),
      first_pause_(first_pause), pause_(first_pause) {}

void DelayLock::want(bool hold) {
    wanted_ = hold;
    update();
}

void DelayLock::manager(sd_bus* bus, const std::string& owner) {
    no_manager();
    bus_ = bus;
    owner_ = owner;
    update();
}

void DelayLock::no_manager() {
    later_.disarm();
    pause_ = first_pause_;
    call_.reset();
    lock_.reset();
    bus_ = nullptr;
}

void DelayLock::update() {
    later_.disarm();
    if (!wanted_) {
        pause_ = first_pause_;
        // A reply still under way finds no receiver, and its descriptor is closed with it.
        call_.reset();
        lock_.reset();
        return;
    }
    if (bus_ == nullptr || lock_ || call_ != nullptr) {
        return;
    }
    const bus::MessageHandle message = login_call(bus_, owner_, "Inhibit");
    if (message != nullptr) {
        sd_bus_message_append(message.get(),
                              "ssss",
                              "shutdown",
                              "Nightlatch",
                              "waits until the button is let go",
                              "delay");
    }
    call_ = bus::send(bus_, message, bus::to<DelayLock, &DelayLock::on_reply>(this));
    if (call_ == nullptr) {
        try_later();
    }
}

/// What refused it may pass: polkit comes up after us, a rule is put in place.
void DelayLock::try_later() {
    later_.arm(loop_.now() + pause_);
    pause_ = std::min(pause_ * 2, longest_pause);
}

void DelayLock::on_reply(sd_bus_message* reply) {
    call_.reset();
    const std::string error = bus::error_name(reply);
    int lent = -1;
    if (error.empty() && sd_bus_message_read(reply, "h", &lent) >= 0) {
        lock_ = sys::Fd{fcntl(lent, F_DUPFD_CLOEXEC, 3)};
        announced_ = false;
        pause_ = first_pause_;
        return;
    }
    if (error == operation_in_progress) {
        return;  // nothing is left to hold back; again() follows the shutdown's end
    }
    try_later();
    if (bus::is_no_answer(error) || announced_) {
        return;
    }
    announced_ = true;
    journal_.say(ports::Priority::warning, ports::Message::bus_trouble, no_delay_lock_text(reply));
}

}  // namespace nightlatch::login
