// SPDX-License-Identifier: MIT
#include "support/fake_service.hpp"

#include "base/ensure.hpp"

#include <string_view>

namespace nightlatch::test {
namespace {

constexpr const char* service_name = "org.nightlatch.Nightlatch1";
constexpr const char* service_path = "/org/nightlatch/Nightlatch1";
constexpr const char* properties = "org.freedesktop.DBus.Properties";
constexpr std::uint64_t hold_us = 3'000'000;

FakeService& self_of(void* userdata) {
    return *static_cast<FakeService*>(userdata);
}

void append_texts(sd_bus_message* to, const std::map<std::string, std::string>& texts) {
    for (const auto& [key, text] : texts) {
        sd_bus_message_append(to, "{sv}", key.c_str(), "s", text.c_str());
    }
}

/// One property's value, without its variant.
void append_value(sd_bus_message* to, std::string_view name, const FakeShown& shown) {
    const auto text = [to](const std::string& value) {
        sd_bus_message_append(to, "s", value.c_str());
    };
    if (name == "Cue") {
        text(shown.cue);
    } else if (name == "Since") {
        sd_bus_message_append(to, "t", shown.since);
    } else if (name == "Until") {
        sd_bus_message_append(to, "t", shown.until);
    } else if (name == "Stage") {
        text(shown.stage);
    } else if (name == "Reason") {
        text(shown.reason);
    } else if (name == "PostHalt") {
        text(shown.post_halt);
    } else if (name == "Level") {
        text(shown.level);
    } else if (name == "Dry") {
        sd_bus_message_append(to, "b", 0);
    } else {
        NIGHTLATCH_ENSURE(name == "Version");
        text("0.9.0");
    }
}

void append_stages(sd_bus_message* to, const FakeShown& shown) {
    sd_bus_message_open_container(to, 'a', "(sts)");
    std::uint64_t hold = hold_us;
    for (const auto& [name, action] : shown.stages) {
        sd_bus_message_append(to, "(sts)", name.c_str(), hold, action.c_str());
        hold += hold_us;
    }
    sd_bus_message_close_container(to);
}

void append_alarms(sd_bus_message* to, const FakeShown& shown) {
    sd_bus_message_open_container(to, 'a', "(sb)");
    for (const auto& [name, due] : shown.alarms) {
        sd_bus_message_append(to, "(sb)", name.c_str(), due ? 1 : 0);
    }
    sd_bus_message_close_container(to);
}

void append_dictionary(sd_bus_message* to, std::string_view name, const FakeShown& shown) {
    sd_bus_message_open_container(to, 'a', "{sv}");
    if (name == "ReasonDetails") {
        append_texts(to, shown.reason_texts);
    } else if (name == "Line") {
        append_texts(to, {{"chip", "soc-gpio"}, {"line", "LID_BUTTON"}});
        sd_bus_message_append(to, "{sv}", "watching", "b", shown.watching ? 1 : 0);
    } else {
        append_texts(to, {{"path", shown.path}, {"on-disk", shown.on_disk}});
        sd_bus_message_append(to, "{sv}", "loaded", "t", std::uint64_t{1'234'567});
        if (!shown.trouble.empty()) {
            append_texts(to, {{"trouble", shown.trouble}});
        }
    }
    sd_bus_message_close_container(to);
}

// sd-bus gives a property's getter seven parameters. NOLINTNEXTLINE(readability-function-size)
int get(sd_bus* /*bus*/,
        const char* /*path*/,
        const char* /*interface*/,
        const char* property,
        sd_bus_message* reply,
        void* userdata,
        sd_bus_error* /*error*/) noexcept {
    const FakeShown& shown = self_of(userdata).shown;
    const std::string_view name = property;
    if (name == "Stages") {
        append_stages(reply, shown);
    } else if (name == "Alarms") {
        append_alarms(reply, shown);
    } else if (name == "ReasonDetails" || name == "Line" || name == "Configuration") {
        append_dictionary(reply, name, shown);
    } else {
        append_value(reply, name, shown);
    }
    return 1;
}

/// Before sd-bus answers for a property by itself.
int filter(sd_bus_message* message, void* userdata, sd_bus_error* /*error*/) noexcept {
    return self_of(userdata).on_any(message);
}

int on_heard_all(sd_bus_message* /*reply*/, void* userdata, sd_bus_error* /*error*/) noexcept {
    ++self_of(userdata).heard_all;
    return 0;
}

int call_off(sd_bus_message* call, void* userdata, sd_bus_error* error) noexcept {
    return self_of(userdata).on_call_off(call, error);
}

constexpr std::uint64_t told = SD_BUS_VTABLE_PROPERTY_EMITS_CHANGE;

const sd_bus_vtable table[] = {
    SD_BUS_VTABLE_START(0),
    SD_BUS_PROPERTY("Cue", "s", get, 0, told),
    SD_BUS_PROPERTY("Since", "t", get, 0, told),
    SD_BUS_PROPERTY("Until", "t", get, 0, told),
    SD_BUS_PROPERTY("Stage", "s", get, 0, told),
    SD_BUS_PROPERTY("Stages", "a(sts)", get, 0, told),
    SD_BUS_PROPERTY("Reason", "s", get, 0, told),
    SD_BUS_PROPERTY("ReasonDetails", "a{sv}", get, 0, told),
    SD_BUS_PROPERTY("Alarms", "a(sb)", get, 0, told),
    SD_BUS_PROPERTY("PostHalt", "s", get, 0, told),
    SD_BUS_PROPERTY("Line", "a{sv}", get, 0, told),
    SD_BUS_PROPERTY("Level", "s", get, 0, told),
    SD_BUS_PROPERTY("Configuration", "a{sv}", get, 0, told),
    SD_BUS_PROPERTY("Dry", "b", get, 0, SD_BUS_VTABLE_PROPERTY_CONST),
    SD_BUS_PROPERTY("Version", "s", get, 0, SD_BUS_VTABLE_PROPERTY_CONST),
    SD_BUS_SIGNAL("Announced", "s", 0),
    SD_BUS_METHOD("CallOff", "", "", call_off, SD_BUS_VTABLE_UNPRIVILEGED),
    SD_BUS_VTABLE_END,
};

}  // namespace

std::vector<std::string> fake_properties() {
    std::vector<std::string> all;
    for (const sd_bus_vtable* row = table; row->type != _SD_BUS_VTABLE_END; ++row) {
        if (row->type == _SD_BUS_VTABLE_PROPERTY) {
            all.push_back(std::string(row->x.property.member) + " " + row->x.property.signature);
        }
    }
    return all;
}

FakeService::FakeService(sd_event* loop, FakeShown its_shown)
    : shown(std::move(its_shown)), bus_(connect_to_bus(loop)) {
    NIGHTLATCH_ENSURE(sd_bus_add_filter(bus_.get(), nullptr, filter, this) >= 0);
    NIGHTLATCH_ENSURE(sd_bus_add_object_vtable(
                          bus_.get(), nullptr, service_path, service_name, table, this) >= 0);
    NIGHTLATCH_ENSURE(sd_bus_request_name(bus_.get(), service_name, 0) >= 0);
}

void FakeService::change(const FakeShown& to) {
    shown = to;
    NIGHTLATCH_ENSURE(sd_bus_emit_properties_changed(bus_.get(),
                                                     service_path,
                                                     service_name,
                                                     "Cue",
                                                     "Since",
                                                     "Until",
                                                     "Stage",
                                                     "Reason",
                                                     "ReasonDetails",
                                                     "Alarms",
                                                     "Configuration",
                                                     tells_level ? "Level" : nullptr,
                                                     nullptr) >= 0);
}

void FakeService::announce(const std::string& name) {
    NIGHTLATCH_ENSURE(sd_bus_emit_signal(
                          bus_.get(), service_path, service_name, "Announced", "s", name.c_str()) >=
                      0);
}

/// A connection answers what it read in the order in which it came [D-Bus specification,
/// "org.freedesktop.DBus.Peer"].
void FakeService::ask_who_heard_all() {
    for (const std::string& asker : askers_) {
        NIGHTLATCH_ENSURE(sd_bus_call_method_async(bus_.get(),
                                                   nullptr,
                                                   asker.c_str(),
                                                   service_path,
                                                   "org.freedesktop.DBus.Peer",
                                                   "Ping",
                                                   on_heard_all,
                                                   this,
                                                   nullptr) >= 0);
    }
}

int FakeService::on_any(sd_bus_message* call) {
    if (sd_bus_message_is_method_call(call, properties, "GetAll") > 0) {
        ++asked_for_all;
        askers_.emplace_back(sd_bus_message_get_sender(call));
        for (const FakeShown& one : changes_before_answer) {
            change(one);
        }
        return answers ? 0 : 1;
    }
    return 0;
}

int FakeService::on_call_off(sd_bus_message* call, sd_bus_error* error) {
    if (!call_off_error.empty()) {
        return sd_bus_error_set(error, call_off_error.c_str(), "as the test has it");
    }
    ++called_off;
    return sd_bus_reply_method_return(call, "");
}

}  // namespace nightlatch::test
