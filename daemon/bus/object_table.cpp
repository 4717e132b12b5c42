// SPDX-License-Identifier: MIT
// What the object has, as systemd/org.nightlatch.Nightlatch1.xml says; a test compares the two.
#include "base/ensure.hpp"
#include "base/text.hpp"
#include "core/verdict_word.hpp"
#include "daemon/bus/object.hpp"
#include "supervisor/narrate.hpp"

#include <algorithm>
#include <array>
#include <iterator>
#include <string_view>

namespace nightlatch::bus {
namespace {

using supervisor::Property;
using supervisor::Published;

/// Microseconds of CLOCK_MONOTONIC, the largest for what is open.
std::uint64_t microseconds(Instant at) {
    if (at == never) {
        return UINT64_MAX;
    }
    const auto us = std::chrono::floor<std::chrono::microseconds>(at.time_since_epoch()).count();
    return static_cast<std::uint64_t>(us);
}

std::uint64_t microseconds(Duration length) {
    return microseconds(Instant{length});
}

const char* word_of(supervisor::OnDisk state) {
    switch (state) {
    case supervisor::OnDisk::same:
        return "same";
    case supervisor::OnDisk::differs:
        return "differs";
    case supervisor::OnDisk::bad:
        return "bad";
    }
    return "bad";
}

const char* word_of(std::optional<Level> level) {
    if (!level) {
        return "unknown";
    }
    return *level == Level::active ? "pressed" : "released";
}

// --- how each is written -------------------------------------------------------------------------
// All text goes through safe(): a path may be any bytes, and the bus ends a connection that sends
// what is not UTF-8.

void append(sd_bus_message* to, std::string_view text) {
    sd_bus_message_append(to, "s", safe(text).c_str());
}

/// Opens and closes a dictionary of variants around what is written into it.
template <class Write>
void append_dictionary(sd_bus_message* to, const Write& write) {
    sd_bus_message_open_container(to, 'a', "{sv}");
    write();
    sd_bus_message_close_container(to);
}

void entry(sd_bus_message* to, const char* key, const std::string& text) {
    sd_bus_message_append(to, "{sv}", key, "s", safe(text).c_str());
}

void cue(const Object& object, sd_bus_message* to) {
    append(to, core::text_of(object.now().cue));
}

void since(const Object& object, sd_bus_message* to) {
    sd_bus_message_append(to, "t", microseconds(object.now().since));
}

void until(const Object& object, sd_bus_message* to) {
    sd_bus_message_append(to, "t", microseconds(object.now().until));
}

void stage(const Object& object, sd_bus_message* to) {
    append(to, object.now().stage);
}

void stages(const Object& object, sd_bus_message* to) {
    sd_bus_message_open_container(to, 'a', "(sts)");
    for (const core::Stage& each : object.now().stages) {
        sd_bus_message_append(to,
                              "(sts)",
                              safe(each.name).c_str(),
                              microseconds(each.hold),
                              std::string(supervisor::text_of(each.action)).c_str());
    }
    sd_bus_message_close_container(to);
}

void reason(const Object& object, sd_bus_message* to) {
    const auto& why = object.now().reason;
    append(to, why ? supervisor::text_of(why->code) : "");
}

void reason_details(const Object& object, sd_bus_message* to) {
    append_dictionary(to, [&] {
        const auto& why = object.now().reason;
        if (!why) {
            return;
        }
        if (!why->alarm.empty()) {
            entry(to, "alarm", why->alarm);
        }
        if (why->blocker) {
            entry(to, "who", why->blocker->who);
            entry(to, "why", why->blocker->why);
        }
        if (!why->text.empty()) {
            entry(to, "text", why->text);
        }
        if (why->error) {
            sd_bus_message_append(to, "{sv}", "error", "i", *why->error);
        }
        if (why->rate) {
            sd_bus_message_append(to, "{sv}", "rate", "u", *why->rate);
        }
    });
}

void alarms(const Object& object, sd_bus_message* to) {
    sd_bus_message_open_container(to, 'a', "(sb)");
    for (const supervisor::PublishedAlarm& each : object.now().alarms) {
        sd_bus_message_append(to, "(sb)", safe(each.name).c_str(), each.due ? 1 : 0);
    }
    sd_bus_message_close_container(to);
}

void post_halt(const Object& object, sd_bus_message* to) {
    sd_bus_message_append(to, "s", word_of(object.now().post_halt));
}

void line(const Object& object, sd_bus_message* to) {
    append_dictionary(to, [&] {
        const supervisor::PublishedLine& of = object.now().line;
        entry(to, "chip", of.where.chip);
        entry(to, "line", of.where.line);
        sd_bus_message_append(to, "{sv}", "watching", "b", of.watching ? 1 : 0);
    });
}

void level(const Object& object, sd_bus_message* to) {
    sd_bus_message_append(to, "s", word_of(object.level()));
}

void configuration(const Object& object, sd_bus_message* to) {
    append_dictionary(to, [&] {
        const supervisor::PublishedConfiguration& of = object.now().configuration;
        entry(to, "path", of.path);
        sd_bus_message_append(to, "{sv}", "loaded", "t", microseconds(of.loaded));
        entry(to, "on-disk", word_of(of.on_disk));
        if (!of.trouble.empty()) {
            entry(to, "trouble", of.trouble);
        }
    });
}

void dry(const Object& object, sd_bus_message* to) {
    sd_bus_message_append(to, "b", object.now().dry ? 1 : 0);
}

void version(const Object& object, sd_bus_message* to) {
    append(to, object.now().version);
}

// --- the table -----------------------------------------------------------------------------------

struct Writer {
    std::string_view property;
    void (*write)(const Object& object, sd_bus_message* to);
};

constexpr std::array writers{Writer{"Cue", cue},
                             Writer{"Since", since},
                             Writer{"Until", until},
                             Writer{"Stage", stage},
                             Writer{"Stages", stages},
                             Writer{"Reason", reason},
                             Writer{"ReasonDetails", reason_details},
                             Writer{"Alarms", alarms},
                             Writer{"PostHalt", post_halt},
                             Writer{"Line", line},
                             Writer{"Level", level},
                             Writer{"Configuration", configuration},
                             Writer{"Dry", dry},
                             Writer{"Version", version}};

void write_value(const Object& object, std::string_view property, sd_bus_message* to) {
    const auto* const writer =
        std::find_if(writers.begin(), writers.end(), [property](const Writer& each) {
            return each.property == property;
        });
    NIGHTLATCH_ENSURE(writer != writers.end());
    writer->write(object, to);
}

// sd-bus gives a property's getter seven parameters. NOLINTNEXTLINE(readability-function-size)
int get(sd_bus* /*bus*/,
        const char* /*path*/,
        const char* /*interface*/,
        const char* property,
        sd_bus_message* reply,
        void* userdata,
        sd_bus_error* /*error*/) noexcept {
    write_value(*static_cast<const Object*>(userdata), property, reply);
    return 1;
}

int call_off(sd_bus_message* call, void* userdata, sd_bus_error* /*error*/) noexcept {
    static_cast<Object*>(userdata)->on_call_off(call);
    return 1;  // answered, or to be answered later
}

constexpr std::uint64_t told = SD_BUS_VTABLE_PROPERTY_EMITS_CHANGE;
constexpr std::uint64_t constant = SD_BUS_VTABLE_PROPERTY_CONST;
constexpr std::uint64_t not_told = 0;
// Who may is asked for each call, and is no matter of the capabilities that sd-bus would look at.
constexpr std::uint64_t open_to_all = SD_BUS_VTABLE_UNPRIVILEGED;

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
    SD_BUS_PROPERTY("Level", "s", get, 0, not_told),
    SD_BUS_PROPERTY("Configuration", "a{sv}", get, 0, told),
    SD_BUS_PROPERTY("Dry", "b", get, 0, constant),
    SD_BUS_PROPERTY("Version", "s", get, 0, constant),
    SD_BUS_SIGNAL_WITH_NAMES("Announced", "s", SD_BUS_PARAM(name), 0),
    SD_BUS_METHOD("CallOff", "", "", call_off, open_to_all),
    SD_BUS_VTABLE_END,
};

const char* type_of(std::string_view property) {
    const auto* const row =
        std::find_if(std::begin(table), std::end(table), [property](const sd_bus_vtable& each) {
            return each.type == _SD_BUS_VTABLE_PROPERTY && property == each.x.property.member;
        });
    NIGHTLATCH_ENSURE(row != std::end(table));
    return row->x.property.signature;
}

}  // namespace

const sd_bus_vtable* object_table() noexcept {
    return table;
}

/// Not by sd_bus_emit_properties_changed(3): it refuses what is not told by itself, as the level.
MessageHandle changed_properties(const Object& object,
                                 sd_bus* bus,
                                 const std::vector<std::string_view>& names) {
    sd_bus_message* made = nullptr;
    sd_bus_message_new_signal(
        bus, &made, object_path, "org.freedesktop.DBus.Properties", "PropertiesChanged");
    MessageHandle signal(made);
    if (signal == nullptr) {
        return signal;
    }
    sd_bus_message_append(made, "s", object_interface);
    append_dictionary(made, [&] {
        for (const std::string_view name : names) {
            const char* const type = type_of(name);
            sd_bus_message_open_container(made, 'e', "sv");
            sd_bus_message_append(made, "s", std::string(name).c_str());
            sd_bus_message_open_container(made, 'v', type);
            write_value(object, name, made);
            sd_bus_message_close_container(made);
            sd_bus_message_close_container(made);
        }
    });
    sd_bus_message_append(made, "as", 0);  // none is told without its value
    return signal;
}

std::string_view name_of(Property property) noexcept {
    switch (property) {
    case Property::cue:
        return "Cue";
    case Property::since:
        return "Since";
    case Property::until:
        return "Until";
    case Property::stage:
        return "Stage";
    case Property::stages:
        return "Stages";
    case Property::reason:
        return "Reason";
    case Property::reason_details:
        return "ReasonDetails";
    case Property::alarms:
        return "Alarms";
    case Property::post_halt:
        return "PostHalt";
    case Property::line:
        return "Line";
    case Property::configuration:
        return "Configuration";
    }
    return "Cue";
}

}  // namespace nightlatch::bus
