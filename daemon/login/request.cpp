// SPDX-License-Identifier: MIT
#include "daemon/login/request.hpp"

#include "base/duration_text.hpp"
#include "daemon/bus/polkit.hpp"
#include "daemon/login/activation.hpp"
#include "daemon/login/login1.hpp"

#include <algorithm>

namespace nightlatch::login {
namespace {

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

Request::Request(const World& world, const Options& options)
    : world_(world), options_(options), start_(world.loop.deferred([this] { proceed(); })),
      deadline_(world.loop.timer([this] { pass_deadline(); })),
      route_(world.loop,
             options.second_route_directory,
             options.pick_up,
             [this](bool taken_up) { on_second_route(taken_up); }),
      calls_{{{world, options.explanation},
              {world, options.explanation},
              {world, options.explanation}}} {}

void Request::begin(const Wish& wish) {
    forget();
    wish_ = wish;
    locks_.reset();
    may_pass_locks_.reset();
    list_trouble_.clear();
    phase_ = Phase::waiting;
    deadline_.arm(world_.loop.now() + options_.bus_wait);
    world_.bus.hurry();
    start_.post();
}

void Request::withdraw(std::uint32_t request) {
    if (request == wish_.request && phase_ != Phase::posted) {
        forget();
    }
}

void Request::forget() {
    start_.cancel();
    deadline_.disarm();
    call_.reset();
    polkit_call_.reset();
    route_.withdraw();
    phase_ = Phase::none;
}

void Request::end(core::AnswerKind kind, const ports::Said& said) {
    forget();
    world_.listener.answered(wish_.request, kind, said);
}

void Request::refuse(const std::string& text, const std::optional<std::vector<Lock>>& in_the_way) {
    end(core::AnswerKind::refused,
        {options_.dry_run ? "a real run would be refused: " + text : text, blocker_of(in_the_way)});
}

void Request::manager_is_known() {
    if (phase_ == Phase::waiting) {
        start_.post();
    }
}

/// The manager, or the bus with it, is gone.
void Request::manager_went() {
    for (SentCall& call : calls_) {
        call.manager_went();
    }
    if (phase_ == Phase::finding || phase_ == Phase::looking) {
        refuse(went_away);
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
    case Phase::none:
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
    if (!options_.as_root && (options_.dry_run || wish_.inhibitors == core::Inhibitors::respect)) {
        ask_polkit();
    }
}

void Request::ask_polkit() {
    sd_bus* bus = world_.bus.get();
    const char* own_name = nullptr;
    if (sd_bus_get_unique_name(bus, &own_name) < 0) {
        return;
    }
    const bus::MessageHandle question = bus::authorization_question(
        bus,
        own_name,
        wish_.action == core::Action::reboot ? "org.freedesktop.login1.reboot-ignore-inhibit"
                                             : "org.freedesktop.login1.power-off-ignore-inhibit");
    polkit_call_ = bus::send(bus, question, bus::to<Request, &Request::on_authorized>(this));
}

/// Without polkit it cannot be told; the list of locks then stands alone.
void Request::on_authorized(sd_bus_message* reply) {
    polkit_call_.reset();
    const std::optional<bool> authorized = bus::authorization_in(reply);
    if (authorized) {
        may_pass_locks_ = authorized;
    }
    const bool too_much = authorized == true && wish_.inhibitors == core::Inhibitors::respect &&
                          !options_.passes_locks();
    const core::Action action = wish_.action;
    decide();
    if (too_much && !told_too_much_allowed_) {
        told_too_much_allowed_ = true;
        world_.journal.say(
            ports::Priority::warning, ports::Message::bus_trouble, too_much_allowed_text(action));
    }
}

void Request::on_list(sd_bus_message* reply) {
    call_.reset();
    locks_ = blocking_locks(reply);
    if (!locks_) {
        list_trouble_ = words_of(reply);
        const sd_bus_error* error = sd_bus_message_get_error(reply);
        if (error != nullptr && world_.presence.owner().empty() &&
            cannot_be_started(error->name, error->message != nullptr ? error->message : "")) {
            take_second_route("the login manager cannot be started: " + list_trouble_);
            return;
        }
    }
    decide();
}

void Request::decide() {
    if (call_ != nullptr || polkit_call_ != nullptr) {
        return;
    }
    const bool respect = wish_.inhibitors == core::Inhibitors::respect;
    if (world_.presence.owner().empty()) {
        refuse("the login manager does not run and did not start, so nothing was asked: " +
               list_trouble_);
    } else if (respect && !locks_) {
        refuse("its list of locks cannot be read, so nothing was asked: " + list_trouble_);
    } else if (respect && !locks_->empty()) {
        refuse(blocked_text(*locks_), locks_);
    } else if (options_.dry_run) {
        ask_leave();
    } else {
        send();
    }
}

void Request::send() {
    std::string past;
    if (locks_ && !locks_->empty()) {
        past = "asked to " + verb_of(wish_.action) + " past the locks of " + text_of(*locks_) +
               " (inhibitors = \"override\")";
    }
    forget();
    if (free_call().send(wish_) && !past.empty()) {
        world_.journal.say(ports::Priority::notice, ports::Message::plain, past);
    }
}

/// Or the oldest, whose answer nobody waits for any more.
SentCall& Request::free_call() {
    const auto free = std::find_if(
        calls_.begin(), calls_.end(), [](const SentCall& call) { return call.free(); });
    if (free != calls_.end()) {
        return *free;
    }
    return *std::min_element(
        calls_.begin(), calls_.end(), [](const SentCall& one, const SentCall& other) {
            return one.request() < other.request();
        });
}

// --- a dry run, instead of the call --------------------------------------------------------------

/// Asks the manager whether it would let us: it asks polkit as for the call itself
/// [org.freedesktop.login1(5), CanPowerOff()].
void Request::ask_leave() {
    const bool reboot = wish_.action == core::Action::reboot;
    const bus::MessageHandle question =
        login_call(world_.bus.get(), world_.presence.owner(), reboot ? "CanReboot" : "CanPowerOff");
    call_ = bus::send(world_.bus.get(), question, bus::to<Request, &Request::on_leave>(this));
    if (call_ == nullptr) {
        refuse(went_away);
    }
}

void Request::on_leave(sd_bus_message* reply) {
    call_.reset();
    const char* said = nullptr;
    if (sd_bus_message_is_method_error(reply, nullptr) > 0 ||
        sd_bus_message_read(reply, "s", &said) < 0) {
        refuse("the login manager does not say whether it would " + verb_of(wish_.action) + ": " +
               words_of(reply));
        return;
    }
    const std::string_view word = said;
    const bool past_locks = locks_ && !locks_->empty();
    // Since systemd 257 it tells that a lock is in the way; with leave to pass, it is not.
    const bool lock_only = past_locks && (word == "inhibited" || word == "inhibitor-blocked");
    if ((past_locks && may_pass_locks_ == false) || (word != "yes" && !lock_only)) {
        refuse(no_leave_text(word, wish_.inhibitors, locks_),
               word == cannot_at_all ? std::nullopt : locks_);
    } else {
        would_do("would have asked the login manager to " + verb_of(wish_.action));
    }
}

void Request::would_do(const std::string& told) {
    end(core::AnswerKind::would_do, {});
    world_.journal.say(ports::Priority::notice, ports::Message::plain, "dry run: " + told);
}

// --- the second route ----------------------------------------------------------------------------

void Request::take_second_route(const std::string& why) {
    forget();
    const std::string file = route_.file_for(wish_.action);
    if (options_.dry_run) {
        would_do(why + ", would have asked by the second route, " + file);
        return;
    }
    if (!world_.listener.may_send(wish_.request)) {
        return;
    }
    phase_ = Phase::posted;
    if (auto posted = route_.post(wish_.action); !posted) {
        refuse(why + ", and the second route is closed: " + posted.error().text);
        return;
    }
    const std::string told =
        why + ": asked to " + verb_of(wish_.action) + " by the second route, " + file;
    world_.listener.answered(wish_.request, core::AnswerKind::sent, {});
    world_.journal.say(ports::Priority::warning, ports::Message::bus_trouble, told);
}

void Request::on_second_route(bool taken_up) {
    if (taken_up) {
        end(core::AnswerKind::taken_up, {"by the second route"});
    } else {
        refuse("nobody took up " + route_.file_for(wish_.action) +
               ": enable and start nightlatch-poweroff.path (for a reboot, "
               "nightlatch-reboot.path)");
    }
}

}  // namespace nightlatch::login
