// SPDX-License-Identifier: MIT
#include "daemon/tool/client/client.hpp"

#include "daemon/tool/client/read_state.hpp"

#include <string_view>
#include <utility>

namespace nightlatch::tool {
namespace {

constexpr const char* properties_interface = "org.freedesktop.DBus.Properties";
constexpr const char* owner_rule =
    "type='signal',sender='org.freedesktop.DBus',path='/org/freedesktop/DBus',"
    "interface='org.freedesktop.DBus',member='NameOwnerChanged',arg0='org.nightlatch.Nightlatch1'";

/// For everything. Nobody is started by it.
bus::MessageHandle question(sd_bus* on) {
    sd_bus_message* made = nullptr;
    if (on == nullptr ||
        sd_bus_message_new_method_call(
            on, &made, service_name, service_path, properties_interface, "GetAll") < 0) {
        return {};
    }
    bus::MessageHandle message{made};
    sd_bus_message_set_auto_start(made, 0);
    return sd_bus_message_append(made, "s", service_interface) < 0 ? bus::MessageHandle{}
                                                                   : std::move(message);
}

template <void (ServiceClient::*Method)(sd_bus_message*)>
bus::Slot subscribe(sd_bus* on, const char* interface, const char* member, ServiceClient* self) {
    sd_bus_slot* slot = nullptr;
    sd_bus_match_signal_async(on,
                              &slot,
                              service_name,
                              service_path,
                              interface,
                              member,
                              bus::deliver<ServiceClient, Method>,
                              nullptr,
                              self);
    return bus::Slot{slot};
}

bool is_nobody(std::string_view error) {
    return error == "org.freedesktop.DBus.Error.NameHasNoOwner" ||
           error == "org.freedesktop.DBus.Error.ServiceUnknown";
}

std::string words_of_error(sd_bus_message* reply) {
    const sd_bus_error* const error = sd_bus_message_get_error(reply);
    return error != nullptr && error->message != nullptr ? error->message : "";
}

}  // namespace

void ServiceClient::Trouble::say(ports::Priority priority,
                                 ports::Message /*message*/,
                                 const std::string& /*text*/,
                                 std::span<const ports::Field> /*fields*/) {
    if (priority <= ports::Priority::warning) {
        // The text is the service's, which waits for the bus; a command may not.
        client.tell_absent(Absent::no_bus, client.bus_.trouble());
    }
}

ServiceClient::ServiceClient(sys::EventLoop& loop, ServiceFollower& follower)
    : loop_(loop), follower_(follower), trouble_(*this), bus_(loop, trouble_),
      limit_(loop.timer([this] { out_of_time(); })) {
    bus_.add(*this);
}

void ServiceClient::start() {
    limit_.arm(loop_.now() + answer_limit);
    bus_.start();
}

void ServiceClient::bus_connected(sd_bus* bus) {
    changed_ =
        subscribe<&ServiceClient::on_changed>(bus, properties_interface, "PropertiesChanged", this);
    announced_ = subscribe<&ServiceClient::on_announced>(bus, service_interface, "Announced", this);
    sd_bus_slot* slot = nullptr;
    sd_bus_add_match_async(bus,
                           &slot,
                           owner_rule,
                           bus::deliver<ServiceClient, &ServiceClient::on_owner>,
                           nullptr,
                           this);
    owner_.reset(slot);
    // The bus takes messages in their order: the answer comes from after we listen.
    ask_all();
}

void ServiceClient::bus_lost() {
    forget();
    changed_.reset();
    announced_.reset();
    owner_.reset();
    tell_absent(Absent::no_bus, "the connection to the system bus is lost");
}

void ServiceClient::ask_all() {
    all_ = bus::send(
        bus_.get(), question(bus_.get()), bus::to<ServiceClient, &ServiceClient::on_all>(this));
    limit_.arm(loop_.now() + answer_limit);
}

void ServiceClient::on_all(sd_bus_message* reply) {
    all_.reset();
    limit_.disarm();
    if (const std::string error = bus::error_name(reply); !error.empty()) {
        tell_absent(is_nobody(error) ? Absent::no_service : Absent::silent,
                    is_nobody(error) ? "" : words_of_error(reply));
        return;
    }
    ServiceState state;
    if (!read_properties(reply, state)) {
        tell_absent(Absent::silent, "it answers what is not an answer");
        return;
    }
    told_absent_.reset();
    state_ = std::move(state);
    follower_.shown(*state_);
}

void ServiceClient::on_owner(sd_bus_message* signal) {
    const char* name = nullptr;
    const char* before = nullptr;
    const char* now = nullptr;
    if (sd_bus_message_read(signal, "sss", &name, &before, &now) <= 0) {
        return;
    }
    forget();
    if (*now == '\0') {
        tell_absent(Absent::no_service, "");
    } else {
        ask_all();
    }
}

void ServiceClient::on_changed(sd_bus_message* signal) {
    const char* interface = nullptr;
    if (sd_bus_message_read(signal, "s", &interface) <= 0 ||
        std::string_view(interface) != service_interface) {
        return;
    }
    if (!state_) {
        if (all_ == nullptr) {  // it had no answer for us, and is there after all
            ask_all();
        }
        return;  // the answer is of a later moment, and has it
    }
    state_->level = "unknown";  // where an older service runs: it does not tell it
    if (read_properties(signal, *state_)) {
        follower_.shown(*state_);
    }
}

void ServiceClient::on_announced(sd_bus_message* signal) {
    const char* name = nullptr;
    if (sd_bus_message_read(signal, "s", &name) > 0) {
        follower_.announced(name);
    }
}

void ServiceClient::out_of_time() {
    if (bus_.get() == nullptr) {
        tell_absent(Absent::no_bus, bus_.trouble());
    } else {
        tell_absent(Absent::silent, "");  // and taken when it comes
    }
}

/// What is known holds no more.
void ServiceClient::forget() {
    state_.reset();
    all_.reset();
    limit_.disarm();
}

void ServiceClient::tell_absent(Absent why, const std::string& detail) {
    if (told_absent_ != why) {
        told_absent_ = why;
        follower_.absent(why, detail);
    }
}

}  // namespace nightlatch::tool
