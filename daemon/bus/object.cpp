// SPDX-License-Identifier: MIT
#include "daemon/bus/object.hpp"

#include "base/text.hpp"

#include <utility>

namespace nightlatch::bus {
namespace {

using ports::Message;
using ports::Priority;

// RequestName's answers [D-Bus specification, "org.freedesktop.DBus.RequestName"].
constexpr std::uint32_t primary_owner = 1;
constexpr std::uint32_t already_owner = 4;

}  // namespace

Object::Object(Surroundings around, supervisor::Publisher::Constant constant)
    : around_(std::move(around)), published_(std::move(constant)),
      gate_(around_.loop,
            call_off_action,
            around_.patience,
            [this](Caller caller) { call_off(std::move(caller)); }),
      changed_(around_.loop.deferred([this] { send_changes(); })),
      watching_(around_.loop.each_turn([this] { send_changes(); })) {
    around_.bus.add(*this);
}

void Object::happened(const supervisor::Event& event) {
    published_.happened(event);
    if (const auto* announced = std::get_if<supervisor::Announced>(&event.what)) {
        announce(announced->name);
    } else if (const auto* answer = std::get_if<supervisor::CallOffAnswered>(&event.what)) {
        answer_call_off(answer->done);
    }
    if (published_.touched() && !full_) {
        changed_.post();
    }
}

void Object::on_disk(supervisor::OnDisk state, const std::string& trouble) {
    published_.on_disk(state, trouble);
    changed_.post();
}

// --- the name ------------------------------------------------------------------------------------

void Object::bus_connected(sd_bus* bus) {
    bus_ = bus;
    gate_.connection(bus);
    sd_bus_slot* object = nullptr;
    sd_bus_slot* owner = nullptr;
    int r =
        sd_bus_add_object_vtable(bus, &object, object_path, object_interface, object_table(), this);
    object_.reset(object);
    if (r >= 0) {
        const std::string match = std::string("type='signal',sender='") + bus_name +
                                  "',interface='" + bus_name +
                                  "',member='NameOwnerChanged',arg0='" + object_name + "'";
        r = sd_bus_add_match_async(
            bus, &owner, match.c_str(), deliver<Object, &Object::on_owner_changed>, nullptr, this);
        owner_.reset(owner);
    }
    if (r < 0) {
        no_name("out of memory");
        return;
    }
    ask_for_name();
}

void Object::bus_lost() {
    named_ = false;
    full_ = false;
    watching_.off();
    gate_.connection(nullptr);
    name_.reset();
    owner_.reset();
    object_.reset();
    bus_ = nullptr;
    announcements_.clear();
    for (Caller& caller : callers_) {
        caller.call
            .reset();  // what comes of it is awaited all the same: they are answered in order
    }
}

/// Neither queued for, nor taken from whoever has it: without flags sd-bus asks for neither.
void Object::ask_for_name() {
    sd_bus_slot* slot = nullptr;
    const int r = sd_bus_request_name_async(
        bus_, &slot, object_name, 0, deliver<Object, &Object::on_name>, this);
    name_.reset(slot);
    if (r < 0) {
        no_name("it cannot be asked for");
    }
}

/// Whoever follows reads everything when the name gets an owner: nothing that was before is news.
void Object::on_name(sd_bus_message* reply) {
    name_.reset();
    const sd_bus_error* error = sd_bus_message_get_error(reply);
    std::uint32_t got = 0;
    if (error != nullptr) {
        const char* words = error->message != nullptr ? error->message : error->name;
        no_name(shortened(words) + "; root may have it, and the service's account where " +
                object_name + ".conf is installed");
    } else if (sd_bus_message_read(reply, "u", &got) < 0 ||
               (got != primary_owner && got != already_owner)) {
        no_name("another program has the name");
    } else {
        named_ = true;
        published_.take_changes();
    }
}

/// Whoever had it has let it go.
void Object::on_owner_changed(sd_bus_message* signal) {
    const char* name = nullptr;
    const char* before = nullptr;
    const char* after = nullptr;
    if (sd_bus_message_read(signal, "sss", &name, &before, &after) > 0 && *after == '\0') {
        named_ = false;
        ask_for_name();
    }
}

void Object::no_name(const std::string& why) {
    if (!std::exchange(said_no_name_, true)) {
        around_.journal.say(Priority::warning,
                            Message::bus_trouble,
                            std::string("programs cannot follow what the button does, for there is "
                                        "no ") +
                                object_name + " on the bus: " + why +
                                " (the button works all the same)");
    }
}

// --- what is sent --------------------------------------------------------------------------------

bool Object::bus_is_full() const {
    std::uint64_t unsent = 0;
    return sd_bus_get_n_queued_write(bus_, &unsent) >= 0 && unsent > 0;
}

/// Who has no name is not listened to; what has changed until there is one is read then.
void Object::send_changes() {
    if (!named_) {
        published_.take_changes();
        return;
    }
    if (!bus_is_full()) {
        send_announcements();
    }
    full_ = bus_is_full();
    if (full_) {
        watching_.on();
        return;
    }
    watching_.off();
    std::vector<std::string_view> names;
    for (const supervisor::Property property : published_.take_changes()) {
        names.push_back(name_of(property));
    }
    if (!names.empty()) {
        names.emplace_back("Level");  // so that nobody has to ask for it
        if (const MessageHandle signal = changed_properties(*this, bus_, names)) {
            sd_bus_send(bus_, signal.get(), nullptr);
        }
    }
}

void Object::announce(const std::string& name) {
    if (!named_) {
        return;
    }
    if (announcements_.size() == most_announcements) {
        announcements_.pop_front();
        ++lost_announcements_;
    }
    announcements_.push_back(name);
    changed_.post();
}

void Object::send_announcements() {
    while (!announcements_.empty() && !bus_is_full()) {
        sd_bus_emit_signal(
            bus_, object_path, object_interface, "Announced", "s", announcements_.front().c_str());
        announcements_.pop_front();
    }
    if (const std::uint64_t lost = std::exchange(lost_announcements_, 0); lost > 0) {
        around_.journal.say(Priority::warning,
                            Message::bus_trouble,
                            "the bus took nothing for a while: " + counted(lost, "announcement") +
                                " got lost");
    }
}

// --- CallOff -------------------------------------------------------------------------------------

/// Decided now, by what is under way now.
void Object::call_off(Caller caller) {
    callers_.push_back(std::move(caller));
    around_.call_off();
}

/// The core answers in the order in which it was asked.
void Object::answer_call_off(bool done) {
    if (callers_.empty()) {
        return;  // it was somebody else's
    }
    const Caller caller = std::move(callers_.front());
    callers_.pop_front();
    if (done) {
        around_.journal.say(Priority::notice,
                            Message::plain,
                            "it was uid " + std::to_string(caller.uid) + " that called off (" +
                                safe(caller.name) + " on the bus)");
    }
    if (caller.call == nullptr) {
        return;
    }
    if (done) {
        sd_bus_reply_method_return(caller.call.get(), "");
    } else {
        sd_bus_reply_method_errorf(
            caller.call.get(), nothing_to_call_off, "nothing is under way that can be called off");
    }
}

}  // namespace nightlatch::bus
