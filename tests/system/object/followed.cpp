// SPDX-License-Identifier: MIT
#include "system/object/followed.hpp"

#include "base/ensure.hpp"

#include <algorithm>

#include <sys/prctl.h>
#include <unistd.h>

namespace nightlatch::test {
namespace {

constexpr auto patience = 60s;  ///< far longer than anything here takes

bus::BusHandle connect_as(std::optional<uid_t> account, sd_event* loop) {
    BusHandle bus;
    const auto connect = [&] { bus = connect_to_bus(loop); };
    if (account) {
        as_account(*account, connect);
    } else {
        connect();
    }
    return bus::BusHandle{bus.release()};
}

/// What a message says first, as text: a string, or a variant of one or of a number.
std::string first_text(sd_bus_message* message) {
    const char* text = nullptr;
    if (sd_bus_message_is_method_error(message, nullptr) > 0) {
        const sd_bus_error* error = sd_bus_message_get_error(message);
        return error->message != nullptr ? error->message : "";
    }
    if (sd_bus_message_enter_container(message, 'v', nullptr) <= 0) {
        return sd_bus_message_read(message, "s", &text) > 0 ? text : "";
    }
    char type = 0;
    const char* contents = nullptr;
    NIGHTLATCH_ENSURE(sd_bus_message_peek_type(message, &type, &contents) > 0);
    if (type == 's') {
        NIGHTLATCH_ENSURE(sd_bus_message_read(message, "s", &text) > 0);
        return text;
    }
    if (type == 't') {
        std::uint64_t number = 0;
        NIGHTLATCH_ENSURE(sd_bus_message_read(message, "t", &number) > 0);
        return std::to_string(number);
    }
    return std::string(1, type) + (contents != nullptr ? contents : "");
}

/// The strings of a dictionary, in the variant that was not entered beyond its type.
std::map<std::string, std::string> strings_in(sd_bus_message* message) {
    std::map<std::string, std::string> strings;
    const char* key = nullptr;
    const char* text = nullptr;
    if (sd_bus_message_enter_container(message, 'a', "{sv}") <= 0) {
        return strings;
    }
    while (sd_bus_message_enter_container(message, 'e', "sv") > 0) {
        NIGHTLATCH_ENSURE(sd_bus_message_read(message, "s", &key) > 0);
        if (sd_bus_message_verify_type(message, 'v', "s") > 0) {
            NIGHTLATCH_ENSURE(sd_bus_message_read(message, "v", "s", &text) > 0);
            strings[key] = text;
        } else {
            NIGHTLATCH_ENSURE(sd_bus_message_skip(message, "v") >= 0);
        }
        NIGHTLATCH_ENSURE(sd_bus_message_exit_container(message) >= 0);
    }
    return strings;
}

}  // namespace

void as_account(uid_t account, const std::function<void()>& does) {
    NIGHTLATCH_ENSURE(seteuid(account) == 0);
    does();
    NIGHTLATCH_ENSURE(seteuid(0) == 0);
    // A change of user stops the leak checker [prctl(2), PR_SET_DUMPABLE].
    NIGHTLATCH_ENSURE(prctl(PR_SET_DUMPABLE, 1, 0, 0, 0) == 0);
}

Client::Client(sd_event* loop, std::optional<uid_t> account) : bus_(connect_as(account, loop)) {
    const auto listen = [this](const char* interface, const char* member, auto handler) {
        NIGHTLATCH_ENSURE(sd_bus_match_signal_async(bus_.get(),
                                                    nullptr,
                                                    nullptr,
                                                    bus::object_path,
                                                    interface,
                                                    member,
                                                    handler,
                                                    nullptr,
                                                    this) >= 0);
    };
    listen("org.freedesktop.DBus.Properties",
           "PropertiesChanged",
           bus::deliver<Client, &Client::on_changed>);
    listen(bus::object_interface, "Announced", bus::deliver<Client, &Client::on_announced>);
}

void Client::call(const char* interface, const char* member, const Strings& arguments) {
    sd_bus_message* message = nullptr;
    NIGHTLATCH_ENSURE(
        sd_bus_message_new_method_call(
            bus_.get(), &message, bus::object_name, bus::object_path, interface, member) >= 0);
    const bus::MessageHandle owned{message};
    for (const std::string& argument : arguments) {
        NIGHTLATCH_ENSURE(sd_bus_message_append(message, "s", argument.c_str()) >= 0);
    }
    NIGHTLATCH_ENSURE(sd_bus_call_async(bus_.get(),
                                        nullptr,
                                        message,
                                        bus::deliver<Client, &Client::on_answer>,
                                        this,
                                        bus::no_time_out) >= 0);
}

std::string Client::name() const {
    const char* name = nullptr;
    NIGHTLATCH_ENSURE(sd_bus_get_unique_name(bus_.get(), &name) >= 0);
    return name;
}

void Client::on_changed(sd_bus_message* signal) {
    Change change;
    const char* text = nullptr;
    NIGHTLATCH_ENSURE(sd_bus_message_read(signal, "s", &text) > 0);
    NIGHTLATCH_ENSURE(sd_bus_message_enter_container(signal, 'a', "{sv}") > 0);
    while (sd_bus_message_enter_container(signal, 'e', "sv") > 0) {
        NIGHTLATCH_ENSURE(sd_bus_message_read(signal, "s", &text) > 0);
        change.names.emplace_back(text);
        if (change.names.back() == "Cue" || change.names.back() == "Level") {
            NIGHTLATCH_ENSURE(sd_bus_message_read(signal, "v", "s", &text) > 0);
            (change.names.back() == "Cue" ? change.cue : change.level) = text;
        } else {
            NIGHTLATCH_ENSURE(sd_bus_message_skip(signal, "v") >= 0);
        }
        NIGHTLATCH_ENSURE(sd_bus_message_exit_container(signal) >= 0);
    }
    NIGHTLATCH_ENSURE(sd_bus_message_exit_container(signal) >= 0);
    NIGHTLATCH_ENSURE(sd_bus_message_enter_container(signal, 'a', "s") > 0);
    while (sd_bus_message_read(signal, "s", &text) > 0) {
        change.invalidated.emplace_back(text);
    }
    std::sort(change.names.begin(), change.names.end());
    changes.push_back(std::move(change));
}

void Client::on_announced(sd_bus_message* signal) {
    const char* name = nullptr;
    NIGHTLATCH_ENSURE(sd_bus_message_read(signal, "s", &name) > 0);
    announced.emplace_back(name);
}

void Client::on_answer(sd_bus_message* reply) {
    answers.push_back(bus::error_name(reply));
    texts.push_back(first_text(reply));
    if (texts.back() == "a{sv}") {
        entries = strings_in(reply);
    }
}

Followed::Followed(config::Settings settings,
                   Events events,
                   Duration patience_with_callers,
                   testing::BoardExtras extras)
    : loop(std::move(sys::EventLoop::open().value())), connection(*loop, journal),
      object({*loop,
              connection,
              journal,
              [this] { return board.app.settled(); },
              [this] { board.app.call_off(); },
              patience_with_callers},
             {"/etc/nightlatch/nightlatch.toml", false, "9.8.7"}),
      board(std::move(settings), std::move(events), Level::inactive, [&] {
          extras.followers.push_back(&object);
          return std::move(extras);
      }()) {}

void Followed::start() {
    bus.start();
    connection.start();
    Client client(loop->raw());
    NIGHTLATCH_ENSURE(await([&] {
        settle(client);
        return client.answers.back().empty();
    }));
}

bool Followed::await(const std::function<bool()>& is_so) {
    const Instant end = loop->now() + patience;
    while (!is_so()) {
        if (loop->now() > end || !loop->turn(100ms)) {
            return false;
        }
    }
    return true;
}

void Followed::settle(Client& client) {
    const std::size_t before = client.answers.size();
    client.call("org.freedesktop.DBus.Peer", "Ping");
    NIGHTLATCH_ENSURE(await([&] { return client.answers.size() > before; }));
}

std::string Followed::get(Client& client, const char* property) {
    const std::size_t before = client.answers.size();
    client.call("org.freedesktop.DBus.Properties", "Get", {bus::object_interface, property});
    NIGHTLATCH_ENSURE(await([&] { return client.answers.size() > before; }));
    return client.texts.back();
}

std::string Followed::call_off(Client& client) {
    const std::size_t before = client.answers.size();
    client.call_off();
    NIGHTLATCH_ENSURE(await([&] { return client.answers.size() > before; }));
    return client.answers.back();
}

}  // namespace nightlatch::test
