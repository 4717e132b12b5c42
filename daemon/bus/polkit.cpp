// SPDX-License-Identifier: MIT
#include "daemon/bus/polkit.hpp"

namespace nightlatch::bus {

MessageHandle authorization_question(sd_bus* bus, const char* subject, const char* action) {
    sd_bus_message* message = nullptr;
    if (bus == nullptr || sd_bus_message_new_method_call(bus,
                                                         &message,
                                                         "org.freedesktop.PolicyKit1",
                                                         "/org/freedesktop/PolicyKit1/Authority",
                                                         "org.freedesktop.PolicyKit1.Authority",
                                                         "CheckAuthorization") < 0) {
        return {};
    }
    MessageHandle owned{message};
    constexpr std::uint32_t no_interaction = 0;
    // Subject, action, details, flags, cancellation.
    const int r = sd_bus_message_append(message,
                                        "(sa{sv})sa{ss}us",
                                        "system-bus-name",
                                        1,
                                        "name",
                                        "s",
                                        subject,
                                        action,
                                        0,
                                        no_interaction,
                                        "");
    return r < 0 ? MessageHandle{} : std::move(owned);
}

std::optional<bool> authorization_in(sd_bus_message* reply) {
    int authorized = 0;
    const bool told = sd_bus_message_is_method_error(reply, nullptr) == 0 &&
                      sd_bus_message_enter_container(reply, 'r', "bba{ss}") > 0 &&
                      sd_bus_message_read(reply, "b", &authorized) > 0;
    return told ? std::optional(authorized != 0) : std::nullopt;
}

}  // namespace nightlatch::bus
