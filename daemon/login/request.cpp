// SPDX-License-Identifier: MIT
#include "daemon/login/request.hpp"

#include "base/duration_text.hpp"
#include "daemon/login/login1.hpp"

namespace nightlatch::login {
namespace {

// [org.freedesktop.login1(5); the second, known from systemd 257 on, by its value in systemd's
// src/basic/login-util.h: the manual page gives it wrongly]
constexpr std::uint64_t root_check_inhibitors = 1U << 0;
constexpr std::uint64_t skip_inhibitors = 1U << 4;

constexpr const char* went_away =
    "the login manager went away before it was asked; nothing was asked, try again";

bool names_login_manager(sd_bus_message* reply) {
    if (sd_bus_message_enter_container(reply, 'a', "s") < 0) {
        return false;
    }
    const char* name = nullptr;
    bool found = false;
    while (sd_bus_message_read(reply, "s", &name) > 0) {
        found = found || std::string_view(name) == login_name;
    }
    return found;
}

}  // namespace

Request::Request(const World& world, const Options& options, RequestUser& user)
    : world_(world), options_(options), user_(user),
      start_(world.loop.deferred([this] { proceed(); })),
      deadline_(world.loop.timer([this] { pass_deadline(); })),
      route_(world.loop, options.second_route_directory, options.pick_up, [this](bool taken_up) {
          on_second_route(taken_up);
      }) {}

void Request::begin(core::Action action, core::Inhibitors inhibitors) {
    forget();
    action_ = action;
    inhibitors_ = inhibitors;
    manager_gone_ = false;
    locks_.reset();
    list_trouble_.clear();
    phase_ = Phase::waiting;
    deadline_.arm(world_.loop.now() + options_.bus_wait);
    world_.bus.hurry();
    start_.post();
}

void Request::forget() {
    start_.cancel();
    deadline_.disarm();
    call_.reset();
    polkit_call_.reset();
    route_.withdraw();
    phase_ = Phase::none;
}

void Request::end(core::AnswerKind kind, const std::string& text) {
    forget();
    user_.request_ended(kind, text);
}

void Request::manager_is_known() {
    if (phase_ == Phase::waiting) {
        start_.post();
    }
}

/// The manager, or the bus with it, is gone.
void Request::manager_went() {
    switch (phase_) {
    case Phase::none:
    case Phase::waiting:
    case Phase::posted:
        break;
    case Phase::finding:
    case Phase::looking:
        refuse(went_away);
        break;
    case Phase::asking:
        manager_gone_ = true;
        break;
    case Phase::explaining:
        explain();
        break;
    }
}

void Request::pass_deadline() {
    switch (phase_) {
    case Phase::waiting:
        if (world_.bus.nobody_listens()) {
            take_second_route("there is no system bus");
        } else {
            refuse("no connection to the system bus (" + world_.bus.trouble() +
                   "); nothing was asked, try again");
        }
        break;
    case Phase::finding:
    case Phase::looking:
        refuse("no answer for " + to_text(options_.preparation) +
               " to the question what locks there are; nothing was asked, try again");
        break;
    case Phase::explaining:
        explain();
        break;
    case Phase::none:
    case Phase::asking:
    case Phase::posted:
        break;
    }
}

// --- before the call -----------------------------------------------------------------------------

void Request::proceed() {
    if (phase_ == Phase::waiting && world_.presence.known()) {
        deadline_.arm(world_.loop.now() + options_.preparation);
        find();
    }
}

void Request::find() {
    phase_ = Phase::finding;
    if (!world_.presence.owner().empty()) {
        look();
        return;
    }
    sd_bus_message* message = nullptr;
    sd_bus_message_new_method_call(world_.bus.get(),
                                   &message,
                                   bus::bus_name,
                                   "/org/freedesktop/DBus",
                                   bus::bus_name,
                                   "ListActivatableNames");
    const bus::MessageHandle owned{message};
    call_ = bus::send(world_.bus.get(), owned, bus::to<Request, &Request::on_activatable>(this));
}

/// That there is no login manager is read from the bus, never guessed from how a call failed.
void Request::on_activatable(sd_bus_message* reply) {
    call_.reset();
    if (sd_bus_message_is_method_error(reply, nullptr) > 0) {
        refuse("the bus does not say whether it can start a login manager: " + words_of(reply));
    } else if (names_login_manager(reply) || !world_.presence.owner().empty()) {
        look();
    } else {
        take_second_route("the bus has no login manager and can start none");
    }
}

void Request::look() {
    phase_ = Phase::looking;
    sd_bus* bus = world_.bus.get();
    // By its well-known name: the bus starts it if it must.
    const bus::MessageHandle list = login_call(bus, login_name, "ListInhibitors");
    call_ = bus::send(bus, list, bus::to<Request, &Request::on_list>(this));
    if (call_ == nullptr) {
        refuse("the list of locks cannot be asked for; nothing was asked, try again");
        return;
    }
    if (inhibitors_ == core::Inhibitors::respect && !options_.as_root) {
        ask_polkit();
    }
}

void Request::ask_polkit() {
    sd_bus* bus = world_.bus.get();
    const char* own_name = nullptr;
    sd_bus_message* message = nullptr;
    if (sd_bus_get_unique_name(bus, &own_name) < 0 ||
        sd_bus_message_new_method_call(bus,
                                       &message,
                                       "org.freedesktop.PolicyKit1",
                                       "/org/freedesktop/PolicyKit1/Authority",
                                       "org.freedesktop.PolicyKit1.Authority",
                                       "CheckAuthorization") < 0) {
        return;
    }
    const bus::MessageHandle owned{message};
    const char* action = action_ == core::Action::reboot
                             ? "org.freedesktop.login1.reboot-ignore-inhibit"
                             : "org.freedesktop.login1.power-off-ignore-inhibit";
    constexpr std::uint32_t no_interaction = 0;
    // Subject, action, details, flags, cancellation [polkit's D-Bus reference].
    sd_bus_message_append(message,
                          "(sa{sv})sa{ss}us",
                          "system-bus-name",
                          1,
                          "name",
                          "s",
                          own_name,
                          action,
                          0,
                          no_interaction,
                          "");
    polkit_call_ = bus::send(bus, owned, bus::to<Request, &Request::on_authorized>(this));
}

/// Without polkit it cannot be told; the list of locks then stands alone.
void Request::on_authorized(sd_bus_message* reply) {
    polkit_call_.reset();
    int authorized = 0;
    const bool told = sd_bus_message_is_method_error(reply, nullptr) == 0 &&
                      sd_bus_message_enter_container(reply, 'r', "bba{ss}") > 0 &&
                      sd_bus_message_read(reply, "b", &authorized) > 0;
    if (told && authorized != 0 && !told_too_much_allowed_) {
        told_too_much_allowed_ = true;
        world_.journal.say(
            ports::Priority::warning, ports::Message::bus_trouble, too_much_allowed_text(action_));
    }
    decide();
}

void Request::on_list(sd_bus_message* reply) {
    call_.reset();
    locks_ = blocking_locks(reply);
    if (!locks_) {
        list_trouble_ = words_of(reply);
    }
    decide();
}

void Request::decide() {
    if (call_ != nullptr || polkit_call_ != nullptr) {
        return;
    }
    const bool respect = inhibitors_ == core::Inhibitors::respect;
    if (respect && !locks_) {
        refuse("its list of locks cannot be read, so nothing was asked: " + list_trouble_);
        return;
    }
    if (respect && !locks_->empty()) {
        refuse(blocked_text(*locks_));
        return;
    }
    if (options_.dry_run) {
        world_.journal.say(ports::Priority::notice,
                           ports::Message::plain,
                           "dry run: would have asked the login manager to " + verb_of(action_));
        refuse("dry run, nothing was asked");
        return;
    }
    if (locks_ && !locks_->empty()) {
        world_.journal.say(ports::Priority::notice,
                           ports::Message::plain,
                           "asking to " + verb_of(action_) + " past the locks of " +
                               text_of(*locks_) + " (inhibitors = \"override\")");
    }
    call(respect ? Way::flags : Way::skip_locks);
}

// --- the call ------------------------------------------------------------------------------------

/// By its unique name: what left for this manager never reaches its successor.
bus::MessageHandle Request::message_for(Way way) const {
    const bool reboot = action_ == core::Action::reboot;
    const bool plain = way == Way::plain;
    const char* member = plain ? "PowerOff" : "PowerOffWithFlags";
    if (reboot) {
        member = plain ? "Reboot" : "RebootWithFlags";
    }
    bus::MessageHandle message = login_call(world_.bus.get(), world_.presence.owner(), member);
    if (message == nullptr) {
        return message;
    }
    if (plain) {
        constexpr int interactive = 0;
        sd_bus_message_append(message.get(), "b", interactive);
        return message;
    }
    std::uint64_t flags = way == Way::skip_locks ? skip_inhibitors : 0;
    if (inhibitors_ == core::Inhibitors::respect) {
        flags = root_check_inhibitors;
    }
    sd_bus_message_append(message.get(), "t", flags);
    return message;
}

void Request::call(Way way) {
    way_ = way;
    call_ =
        bus::send(world_.bus.get(), message_for(way), bus::to<Request, &Request::on_answer>(this));
    if (call_ == nullptr) {
        refuse(went_away);
        return;
    }
    phase_ = Phase::asking;
    deadline_.disarm();
}

void Request::on_answer(sd_bus_message* reply) {
    call_.reset();
    const std::string error = bus::error_name(reply);
    if (error.empty()) {
        end(core::AnswerKind::accepted, "");
    } else if (error == operation_in_progress) {
        end(core::AnswerKind::accepted, "a shutdown is under way already");
    } else if (bus::is_no_answer(error)) {
        return;  // nothing is known, so nothing is said: it may still act
    } else if (error == "org.freedesktop.DBus.Error.UnknownMethod" && way_ != Way::plain) {
        call(Way::plain);
    } else if (error == "org.freedesktop.DBus.Error.InvalidArgs" && way_ == Way::skip_locks) {
        // Before systemd 257: without the flag it leaves the decision to polkit.
        call(Way::flags);
    } else {
        refusal_ = {error, words_of(reply)};
        phase_ = Phase::explaining;
        deadline_.arm(world_.loop.now() + options_.explanation);
        locks_.reset();
        const bus::MessageHandle list =
            login_call(world_.bus.get(), world_.presence.owner(), "ListInhibitors");
        call_ = bus::send(world_.bus.get(), list, bus::to<Request, &Request::on_list_after>(this));
        if (call_ == nullptr) {
            explain();
        }
    }
}

void Request::on_list_after(sd_bus_message* reply) {
    call_.reset();
    locks_ = blocking_locks(reply);
    explain();
}

void Request::explain() {
    refuse(refusal_text(refusal_, inhibitors_, locks_));
}

// --- the second route ----------------------------------------------------------------------------

void Request::take_second_route(const std::string& why) {
    call_.reset();
    deadline_.disarm();
    const std::string file = route_.file_for(action_);
    if (options_.dry_run) {
        world_.journal.say(ports::Priority::notice,
                           ports::Message::plain,
                           "dry run: " + why + ", would have asked by the second route, " + file);
        refuse("dry run, nothing was asked");
        return;
    }
    world_.journal.say(ports::Priority::warning,
                       ports::Message::bus_trouble,
                       why + ": asking to " + verb_of(action_) + " by the second route, " + file);
    phase_ = Phase::posted;
    if (auto posted = route_.post(action_); !posted) {
        refuse(why + ", and the second route is closed: " + posted.error().text);
    }
}

void Request::on_second_route(bool taken_up) {
    if (taken_up) {
        end(core::AnswerKind::accepted, "by the second route");
    } else {
        refuse(
            "nobody took up " + route_.file_for(action_) +
            ": enable and start nightlatch-poweroff.path (for a reboot, nightlatch-reboot.path)");
    }
}

}  // namespace nightlatch::login
