// SPDX-License-Identifier: MIT
// Follows the button on the system bus by sd-bus (package libsystemd-dev):
//
//   g++ -std=c++20 -o bus bus.cpp $(pkg-config --cflags --libs libsystemd)
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <string>

#include <systemd/sd-bus.h>

namespace {

constexpr const char* name = "org.nightlatch.Nightlatch1";
constexpr const char* path = "/org/nightlatch/Nightlatch1";

struct Button {
    sd_bus* bus = nullptr;
    std::string cue;
    std::string stage;
};

void show(const Button& button) {
    std::printf("%s %s\n", button.cue.c_str(), button.stage.c_str());
    std::fflush(stdout);
}

int read_text(sd_bus_message* message, std::string& into) {
    const char* text = nullptr;
    const int result = sd_bus_message_read(message, "v", "s", &text);
    if (result > 0) {
        into = text;
    }
    return result;
}

int read_one(sd_bus_message* message, Button& button) {
    const char* property = nullptr;
    if (const int result = sd_bus_message_read(message, "s", &property); result <= 0) {
        return result;
    }
    if (std::strcmp(property, "Cue") == 0) {
        return read_text(message, button.cue);
    }
    if (std::strcmp(property, "Stage") == 0) {
        return read_text(message, button.stage);
    }
    return sd_bus_message_skip(message, "v");
}

/// An a{sv}, of GetAll or PropertiesChanged.
int take(sd_bus_message* message, Button& button) {
    int result = sd_bus_message_enter_container(message, 'a', "{sv}");
    while (result >= 0) {
        result = sd_bus_message_enter_container(message, 'e', "sv");
        if (result == 0) {  // that was all
            show(button);
            return 0;
        }
        if (result > 0) {
            result = read_one(message, button);
        }
        if (result >= 0) {
            result = sd_bus_message_exit_container(message);
        }
    }
    return result;
}

int on_answer(sd_bus_message* answer, void* context, sd_bus_error* /*error*/) {
    if (sd_bus_message_is_method_error(answer, nullptr) != 0) {
        std::puts("not running");
        std::fflush(stdout);
        return 0;
    }
    return take(answer, *static_cast<Button*>(context));
}

/// Not waited for: it may be starting, or hang.
int ask(Button& button) {
    return sd_bus_call_method_async(button.bus,
                                    nullptr,
                                    name,
                                    path,
                                    "org.freedesktop.DBus.Properties",
                                    "GetAll",
                                    on_answer,
                                    &button,
                                    "s",
                                    name);
}

int on_changed(sd_bus_message* signal, void* context, sd_bus_error* /*error*/) {
    const int result = sd_bus_message_skip(signal, "s");
    return result < 0 ? result : take(signal, *static_cast<Button*>(context));
}

/// It came, or it went: what was known is old.
int on_owner(sd_bus_message* /*signal*/, void* context, sd_bus_error* /*error*/) {
    return ask(*static_cast<Button*>(context));
}

/// Before the first question, so that nothing falls in between.
int subscribe(Button& button) {
    const int result = sd_bus_match_signal(button.bus,
                                           nullptr,
                                           name,
                                           path,
                                           "org.freedesktop.DBus.Properties",
                                           "PropertiesChanged",
                                           on_changed,
                                           &button);
    if (result < 0) {
        return result;
    }
    const std::string owner = "type='signal',sender='org.freedesktop.DBus',"
                              "member='NameOwnerChanged',arg0='" +
                              std::string(name) + "'";
    return sd_bus_add_match(button.bus, nullptr, owner.c_str(), on_owner, &button);
}

/// Returns only with an error.
int follow(Button& button) {
    int result = sd_bus_open_system(&button.bus);
    if (result >= 0) {
        result = subscribe(button);
    }
    if (result >= 0) {
        result = ask(button);
    }
    while (result >= 0) {
        result = sd_bus_process(button.bus, nullptr);
        if (result == 0) {
            result = sd_bus_wait(button.bus, UINT64_MAX);
        }
    }
    return result;
}

}  // namespace

int main() {
    Button button;
    const int result = follow(button);
    std::fprintf(stderr, "the bus: %s\n", std::strerror(-result));
    sd_bus_flush_close_unref(button.bus);
    return 1;
}
