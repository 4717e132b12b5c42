// SPDX-License-Identifier: MIT
#include "daemon/login/sent_call.hpp"

#include "daemon/login/login1.hpp"
#include "daemon/login/preparing.hpp"

namespace nightlatch::login {
namespace {

// [org.freedesktop.login1(5); the second, known from systemd 257 on, by its value in systemd's
// src/basic/login-util.h: the manual page gives it wrongly]
constexpr std::uint64_t root_check_inhibitors = 1U << 0;
constexpr std::uint64_t skip_inhibitors = 1U << 4;

}  // namespace

SentCall::SentCall(const World& world, Duration explanation)
    : world_(world), explanation_(explanation),
      deadline_(world.loop.timer([this] { pass_deadline(); })) {}

bool SentCall::send(const Wish& wish) {
    deadline_.disarm();
    call_.reset();
    phase_ = Phase::free;
    wish_ = wish;
    manager_ = world_.presence.owner();
    locks_.reset();
    if (!world_.listener.may_send(wish_.request)) {
        return false;
    }
    if (!call(wish_.inhibitors == core::Inhibitors::respect ? Way::flags : Way::skip_locks)) {
        end(core::AnswerKind::refused, {went_away});
        return false;
    }
    world_.listener.answered(wish_.request, core::AnswerKind::sent, {});
    return true;
}

/// By its unique name: what left for this manager never reaches its successor.
bus::MessageHandle SentCall::message_for(Way way) const {
    const bool reboot = wish_.action == core::Action::reboot;
    const bool plain = way == Way::plain;
    const char* member = plain ? "PowerOff" : "PowerOffWithFlags";
    if (reboot) {
        member = plain ? "Reboot" : "RebootWithFlags";
    }
    bus::MessageHandle message = login_call(world_.bus.get(), manager_, member);
    if (message == nullptr) {
        return message;
    }
    if (plain) {
        constexpr int interactive = 0;
        sd_bus_message_append(message.get(), "b", interactive);
        return message;
    }
    std::uint64_t flags = way == Way::skip_locks ? skip_inhibitors : 0;
    if (wish_.inhibitors == core::Inhibitors::respect) {
        flags = root_check_inhibitors;
    }
    sd_bus_message_append(message.get(), "t", flags);
    return message;
}

bool SentCall::call(Way way) {
    way_ = way;
    call_ = bus::send(
        world_.bus.get(), message_for(way), bus::to<SentCall, &SentCall::on_answer>(this));
    phase_ = call_ != nullptr ? Phase::asking : Phase::free;
    return call_ != nullptr;
}

/// The call before did nothing; this one may.
void SentCall::try_again(Way way) {
    if (!world_.listener.may_send(wish_.request)) {
        phase_ = Phase::free;
    } else if (!call(way)) {
        end(core::AnswerKind::refused, {went_away});
    }
}

void SentCall::on_answer(sd_bus_message* reply) {
    call_.reset();
    const std::string error = bus::error_name(reply);
    if (error.empty()) {
        end(core::AnswerKind::accepted, {});
    } else if (bus::is_no_answer(error)) {
        phase_ = Phase::free;  // nothing is known, so nothing is said: it may still act
    } else if (error == "org.freedesktop.DBus.Error.UnknownMethod" && way_ != Way::plain) {
        try_again(Way::plain);
    } else if (error == "org.freedesktop.DBus.Error.InvalidArgs" && way_ == Way::skip_locks) {
        // Before systemd 257: without the flag it leaves the decision to polkit.
        try_again(Way::flags);
    } else {
        refusal_ = {error, words_of(reply)};
        if (error == operation_in_progress) {
            check();
        } else {
            explain();
        }
    }
}

void SentCall::limit_explanation() {
    deadline_.arm(world_.loop.now() + explanation_);
}

/// The same error is given for a shutdown and for a sleep under way
/// [systemd src/login/logind-dbus.c, method_do_shutdown_or_sleep].
void SentCall::check() {
    phase_ = Phase::checking;
    limit_explanation();
    call_ = bus::send(world_.bus.get(),
                      preparing_call(world_.bus.get(), manager_),
                      bus::to<SentCall, &SentCall::on_preparing>(this));
    if (call_ == nullptr) {
        tell_progress(core::BeingPrepared::cannot_tell);
    }
}

void SentCall::on_preparing(sd_bus_message* reply) {
    call_.reset();
    tell_progress(preparing_in(reply));
}

void SentCall::tell_progress(core::BeingPrepared shutdown) {
    const bool under_way = shutdown == core::BeingPrepared::yes;
    end(under_way ? core::AnswerKind::accepted : core::AnswerKind::refused,
        {in_progress_text(shutdown, refusal_)});
}

void SentCall::explain() {
    phase_ = Phase::explaining;
    limit_explanation();
    const bus::MessageHandle list = login_call(world_.bus.get(), manager_, "ListInhibitors");
    call_ = bus::send(world_.bus.get(), list, bus::to<SentCall, &SentCall::on_list>(this));
    if (call_ == nullptr) {
        tell_refusal();
    }
}

void SentCall::on_list(sd_bus_message* reply) {
    call_.reset();
    locks_ = blocking_locks(reply);
    tell_refusal();
}

void SentCall::tell_refusal() {
    end(core::AnswerKind::refused,
        {refusal_text(refusal_, wish_.inhibitors, locks_), blocker_of(locks_)});
}

void SentCall::manager_went() {
    pass_deadline();
}

void SentCall::pass_deadline() {
    switch (phase_) {
    case Phase::free:
    case Phase::asking:
        break;
    case Phase::checking:
        tell_progress(core::BeingPrepared::cannot_tell);
        break;
    case Phase::explaining:
        tell_refusal();
        break;
    }
}

void SentCall::end(core::AnswerKind kind, const ports::Said& said) {
    deadline_.disarm();
    call_.reset();
    phase_ = Phase::free;
    world_.listener.answered(wish_.request, kind, said);
}

}  // namespace nightlatch::login
