// SPDX-License-Identifier: MIT
#include "daemon/tool/client/read_state.hpp"

#include "daemon/bus/sd_bus.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <type_traits>

namespace nightlatch::tool {
namespace {

// A value of the message, by the type of the place that it is for.

template <class Text>  // that may be left out, or not
void take(sd_bus_message* message, Text& place) {
    const char* text = nullptr;
    place = sd_bus_message_read(message, "s", &text) > 0 ? text : "";
}

void take(sd_bus_message* message, bool& place) {
    int truth = 0;
    place = sd_bus_message_read(message, "b", &truth) > 0 && truth != 0;
}

void take(sd_bus_message* message, Instant& place) {
    std::uint64_t microseconds = 0;
    sd_bus_message_read(message, "t", &microseconds);
    place = instant_of(microseconds);
}

/// For the place that these members lead to, one inside the other.
template <auto... Path>
void value(sd_bus_message* message, ServiceState& into) {
    take(message, (into.*....*Path));
}

template <class Number, auto Place>
void reason_number(sd_bus_message* message, ServiceState& into) {
    Number number = 0;
    sd_bus_message_read(message, std::is_signed_v<Number> ? "i" : "u", &number);
    into.reason.*Place = number;
}

/// A member of the dictionary, and what becomes of its value: `read` stands at the value itself.
struct Member {
    std::string_view name;
    const char* signature;
    void (*read)(sd_bus_message*, ServiceState&);
};

bool read_value(sd_bus_message* message, const Member& member, ServiceState& into) {
    char type = 0;
    const char* contents = nullptr;
    if (sd_bus_message_peek_type(message, &type, &contents) <= 0 || type != SD_BUS_TYPE_VARIANT ||
        std::string_view(contents) != member.signature) {
        return sd_bus_message_skip(message, "v") >= 0;
    }
    if (sd_bus_message_enter_container(message, SD_BUS_TYPE_VARIANT, member.signature) <= 0) {
        return false;
    }
    member.read(message, into);
    return sd_bus_message_exit_container(message) >= 0;
}

bool read_entry(sd_bus_message* message, std::span<const Member> members, ServiceState& into) {
    const char* name = nullptr;
    if (sd_bus_message_read(message, "s", &name) <= 0) {
        return false;
    }
    const auto member = std::find_if(
        members.begin(), members.end(), [name](const Member& one) { return one.name == name; });
    return member == members.end() ? sd_bus_message_skip(message, "v") >= 0
                                   : read_value(message, *member, into);
}

bool read_dictionary(sd_bus_message* message, std::span<const Member> members, ServiceState& into) {
    if (sd_bus_message_enter_container(message, SD_BUS_TYPE_ARRAY, "{sv}") < 0) {
        return false;
    }
    while (sd_bus_message_enter_container(message, SD_BUS_TYPE_DICT_ENTRY, "sv") > 0) {
        if (!read_entry(message, members, into) || sd_bus_message_exit_container(message) < 0) {
            return false;
        }
    }
    return sd_bus_message_exit_container(message) >= 0;
}

using State = ServiceState;
using Configuration = ConfigurationSeen;

constexpr std::array reason_members{
    Member{"alarm", "s", value<&State::reason, &ReasonSeen::alarm>},
    Member{"who", "s", value<&State::reason, &ReasonSeen::who>},
    Member{"why", "s", value<&State::reason, &ReasonSeen::why>},
    Member{"text", "s", value<&State::reason, &ReasonSeen::text>},
    Member{"error", "i", reason_number<std::int32_t, &ReasonSeen::error>},
    Member{"rate", "u", reason_number<std::uint32_t, &ReasonSeen::rate>},
};

constexpr std::array line_members{
    Member{"chip", "s", value<&State::line, &LineSeen::chip>},
    Member{"line", "s", value<&State::line, &LineSeen::line>},
    Member{"watching", "b", value<&State::line, &LineSeen::watching>},
};

constexpr std::array configuration_members{
    Member{"path", "s", value<&State::configuration, &Configuration::path>},
    Member{"loaded", "t", value<&State::configuration, &Configuration::loaded>},
    Member{"on-disk", "s", value<&State::configuration, &Configuration::on_disk>},
    Member{"trouble", "s", value<&State::configuration, &Configuration::trouble>},
};

void read_stages(sd_bus_message* message, ServiceState& into) {
    into.stages.clear();
    if (sd_bus_message_enter_container(message, SD_BUS_TYPE_ARRAY, "(sts)") < 0) {
        return;
    }
    const char* name = nullptr;
    const char* action = nullptr;
    std::uint64_t hold = 0;
    while (sd_bus_message_read(message, "(sts)", &name, &hold, &action) > 0) {
        into.stages.push_back({name, instant_of(hold).time_since_epoch(), action});
    }
    sd_bus_message_exit_container(message);
}

void read_alarms(sd_bus_message* message, ServiceState& into) {
    into.alarms.clear();
    if (sd_bus_message_enter_container(message, SD_BUS_TYPE_ARRAY, "(sb)") < 0) {
        return;
    }
    const char* name = nullptr;
    int due = 0;
    while (sd_bus_message_read(message, "(sb)", &name, &due) > 0) {
        into.alarms.push_back({name, due != 0});
    }
    sd_bus_message_exit_container(message);
}

// A dictionary comes whole: what an earlier one held and this one does not is no more.

void read_reason_details(sd_bus_message* message, ServiceState& into) {
    into.reason = {into.reason.code};
    read_dictionary(message, reason_members, into);
}

template <auto Section, const auto& Members>
void read_section(sd_bus_message* message, ServiceState& into) {
    into.*Section = {};
    read_dictionary(message, Members, into);
}

constexpr std::array property_members{
    Member{"Cue", "s", value<&State::cue>},
    Member{"Since", "t", value<&State::since>},
    Member{"Until", "t", value<&State::until>},
    Member{"Stage", "s", value<&State::stage>},
    Member{"Stages", "a(sts)", read_stages},
    Member{"Reason", "s", value<&State::reason, &ReasonSeen::code>},
    Member{"ReasonDetails", "a{sv}", read_reason_details},
    Member{"Alarms", "a(sb)", read_alarms},
    Member{"PostHalt", "s", value<&State::post_halt>},
    Member{"Line", "a{sv}", read_section<&State::line, line_members>},
    Member{"Level", "s", value<&State::level>},
    Member{"Configuration", "a{sv}", read_section<&State::configuration, configuration_members>},
    Member{"Dry", "b", value<&State::dry>},
    Member{"Version", "s", value<&State::version>},
};

}  // namespace

bool read_properties(sd_bus_message* message, ServiceState& into) {
    return read_dictionary(message, property_members, into);
}

std::vector<PropertyRead> properties_read() {
    std::vector<PropertyRead> all;
    all.reserve(property_members.size());
    for (const Member& one : property_members) {
        all.push_back({one.name, one.signature});
    }
    return all;
}

}  // namespace nightlatch::tool
