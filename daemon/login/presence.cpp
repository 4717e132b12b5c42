// SPDX-License-Identifier: MIT
#include "daemon/login/presence.hpp"

#include "daemon/login/login1.hpp"

namespace nightlatch::login {
namespace {

constexpr const char* bus_path = "/org/freedesktop/DBus";
constexpr const char* owner_rule =
    "type='signal',sender='org.freedesktop.DBus',path='/org/freedesktop/DBus',"
    "interface='org.freedesktop.DBus',member='NameOwnerChanged',arg0='org.freedesktop.login1'";

bool sent_by(sd_bus_message* message, std::string_view name) {
    const char* sender = sd_bus_message_get_sender(message);
    return sender != nullptr && sender == name;
}

/// The metadata's `type` [org.freedesktop.login1(5), PrepareForShutdownWithMetadata]. Only a
/// shutdown after which the machine runs on counts as a reboot; a halt may switch it off.
core::GoingDownKind kind_named(std::string_view type) {
    if (type == "power-off") {
        return core::GoingDownKind::power_off;
    }
    const bool runs_on = type == "reboot" || type == "kexec" || type == "soft-reboot";
    return runs_on ? core::GoingDownKind::reboot : core::GoingDownKind::unknown;
}

core::GoingDownKind kind_in(sd_bus_message* metadata) {
    core::GoingDownKind kind = core::GoingDownKind::unknown;
    if (sd_bus_message_enter_container(metadata, 'a', "{sv}") < 0) {
        return kind;
    }
    while (sd_bus_message_enter_container(metadata, 'e', "sv") > 0) {
        const char* key = nullptr;
        const char* value = nullptr;
        if (sd_bus_message_read(metadata, "s", &key) < 0) {
            return kind;
        }
        if (std::string_view(key) != "type") {
            sd_bus_message_skip(metadata, "v");
        } else if (sd_bus_message_read(metadata, "v", "s", &value) > 0) {
            kind = kind_named(value);
        }
        if (sd_bus_message_exit_container(metadata) < 0) {
            return kind;
        }
    }
    return kind;
}

}  // namespace

/// The subscriptions go first, and the bus works in order: nothing falls between them and the
/// answer that says who the manager is.
void Presence::connected(sd_bus* bus) {
    bus_ = bus;
    sd_bus_slot* slot = nullptr;
    // Without a handler of ours sd-bus ends the connection when the bus refuses a subscription,
    // which leads to another attempt [sd_bus_add_match(3)].
    if (sd_bus_add_match_async(bus,
                               &slot,
                               owner_rule,
                               bus::deliver<Presence, &Presence::on_owner_changed>,
                               nullptr,
                               this) >= 0) {
        slots_.emplace_back(slot);
    }
    subscribe("PrepareForShutdownWithMetadata",
              bus::deliver<Presence, &Presence::on_prepare_with_metadata>);
    subscribe("PrepareForShutdown", bus::deliver<Presence, &Presence::on_prepare>);
    subscribe("PrepareForSleep", bus::deliver<Presence, &Presence::on_sleep>);
    sd_bus_message* get = nullptr;
    sd_bus_message_new_method_call(
        bus, &get, bus::bus_name, bus_path, bus::bus_name, "GetNameOwner");
    const bus::MessageHandle message{get};
    sd_bus_message_append(get, "s", login_name);
    slots_.push_back(bus::send(bus, message, bus::to<Presence, &Presence::on_owner>(this)));
}

void Presence::disconnected() {
    slots_.clear();
    bus_ = nullptr;
    known_ = false;
    owner_.clear();
    preparing_.reset();
}

void Presence::subscribe(const char* member, sd_bus_message_handler_t handler) {
    sd_bus_slot* slot = nullptr;
    if (sd_bus_match_signal_async(
            bus_, &slot, login_name, login_path, login_interface, member, handler, nullptr, this) >=
        0) {
        slots_.emplace_back(slot);
    }
}

void Presence::on_owner(sd_bus_message* reply) {
    const char* owner = "";
    if (sd_bus_message_is_method_error(reply, nullptr) > 0 ||
        sd_bus_message_read(reply, "s", &owner) < 0) {
        owner = "";  // NameHasNoOwner
    }
    if (bus::is_no_answer(bus::error_name(reply))) {
        return;
    }
    const bool news = owner_ != owner;
    known_ = true;
    if (news) {
        owner_is(owner);
    }
    user_.manager_is_known();
}

void Presence::on_owner_changed(sd_bus_message* signal) {
    const char* name = nullptr;
    const char* before = nullptr;
    const char* now = nullptr;
    if (!sent_by(signal, bus::bus_name) ||
        sd_bus_message_read(signal, "sss", &name, &before, &now) < 0 ||
        std::string_view(name) != login_name || owner_ == now) {
        return;
    }
    owner_is(now);
}

void Presence::owner_is(const std::string& owner) {
    const bool had_owner = !owner_.empty();
    owner_ = owner;
    preparing_.reset();
    if (had_owner) {
        user_.manager_went();
    }
    if (!owner_.empty()) {
        user_.manager_came();
    }
}

/// The bus delivers to us whatever anyone addresses to us, and sd-bus cannot tell whether a sender
/// owns a well-known name; only the owner's word counts.
bool Presence::from_manager(sd_bus_message* signal) const {
    return !owner_.empty() && sent_by(signal, owner_);
}

void Presence::on_prepare(sd_bus_message* signal) {
    int active = 0;
    if (from_manager(signal) && sd_bus_message_read(signal, "b", &active) >= 0) {
        shutdown(active != 0, core::GoingDownKind::unknown);
    }
}

void Presence::on_prepare_with_metadata(sd_bus_message* signal) {
    int active = 0;
    if (from_manager(signal) && sd_bus_message_read(signal, "b", &active) >= 0) {
        shutdown(active != 0, kind_in(signal));
    }
}

/// Newer managers tell it twice, first with metadata; older ones once, without.
void Presence::shutdown(bool active, core::GoingDownKind kind) {
    if (active == preparing_) {
        return;
    }
    preparing_ = active;
    user_.shutdown_announced(active, kind);
}

void Presence::on_sleep(sd_bus_message* signal) {
    int active = 0;
    if (from_manager(signal) && sd_bus_message_read(signal, "b", &active) >= 0 && active == 0) {
        user_.sleep_is_over();
    }
}

}  // namespace nightlatch::login
