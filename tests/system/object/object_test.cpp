// SPDX-License-Identifier: MIT
// The object on the bus, as a program that follows meets it.
#include "system/object/followed.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>
#include <unistd.h>

using namespace nightlatch;
using namespace nightlatch::test;
using namespace std::chrono_literals;
using testing::moves;
using testing::pontoon_settings;

namespace {

Events one_hold(Duration at, Duration length) {
    return {moves(at, Level::active), moves(at + length, Level::inactive)};
}

config::Settings with_announced_stage() {
    config::Settings settings = pontoon_settings();
    settings.core.stages = {{"write now", 1s, core::Action::announce},
                            {"off", 3s, core::Action::power_off}};
    return settings;
}

Strings cues(const Client& client) {
    Strings cues;
    for (const Client::Change& change : client.changes) {
        cues.push_back(change.cue);
    }
    return cues;
}

/// Another program has the name.
bus::BusHandle with_the_name(const Followed& followed) {
    BusHandle other = connect_to_bus(followed.loop->raw());
    REQUIRE(sd_bus_request_name(other.get(), bus::object_name, 0) >= 0);
    return bus::BusHandle{other.release()};
}

}  // namespace

TEST_CASE("what changes together comes in one signal, with its values, and nothing at rest") {
    Followed followed(with_announced_stage(), one_hold(5s, 3500ms));
    followed.start();
    followed.board.run_to(4s);
    Client client(followed.loop->raw());
    followed.settle(client);
    client.changes.clear();
    followed.board.run_to(5500ms);
    followed.settle(client);
    REQUIRE(client.changes.size() == 1);
    CHECK(client.changes[0].names == Strings{"Cue", "Level", "Since", "Until"});
    CHECK(client.changes[0].cue == "holding");
    CHECK(client.changes[0].level == "pressed");
    CHECK(client.changes[0].invalidated.empty());
    followed.board.run_to(6500ms);
    followed.settle(client);
    REQUIRE(client.changes.size() == 2);
    CHECK(client.changes[1].names == Strings{"Cue", "Level", "Since", "Stage", "Until"});
    followed.board.run_to(9s);  // decided, asked: one turn of the loop
    followed.settle(client);
    REQUIRE(client.changes.size() == 3);
    CHECK(client.changes[2].names == Strings{"Cue", "Level", "Reason", "Since", "Stage", "Until"});
    CHECK(client.changes[2].level == "released");
    followed.board.app.wake();
    followed.settle(client);
    CHECK(client.changes.size() == 3);
}

TEST_CASE("at rest nothing wakes the service, followed or not") {
    Followed followed;
    followed.start();
    followed.board.run_to(4s);
    Client client(followed.loop->raw());
    followed.settle(client);
    for (int i = 0; i < 20; ++i) {  // what was still to be done
        REQUIRE(followed.loop->turn(0ms));
    }
    const std::uint64_t turns = followed.loop->turns();
    REQUIRE(followed.loop->turn(300ms));
    CHECK(followed.loop->turns() == turns + 1);  // the one that waited in vain
}

TEST_CASE("every property is there to be read") {
    Followed followed(pontoon_settings(), one_hold(5s, 1s));
    followed.start();
    followed.board.run_to(4s);
    Client client(followed.loop->raw());
    CHECK(followed.get(client, "Cue") == "rest");
    CHECK(followed.get(client, "Until") == "18446744073709551615");
    CHECK(followed.get(client, "Since") != followed.get(client, "Until"));
    CHECK(followed.get(client, "Stage").empty());
    CHECK(followed.get(client, "Stages") == "a(sts)");
    CHECK(followed.get(client, "Reason").empty());
    CHECK(followed.get(client, "ReasonDetails") == "a{sv}");
    CHECK(followed.get(client, "Alarms") == "a(sb)");
    CHECK(followed.get(client, "PostHalt") == "cannot-tell");
    CHECK(followed.get(client, "Line") == "a{sv}");
    CHECK(followed.get(client, "Configuration") == "a{sv}");
    CHECK(followed.get(client, "Dry") == "b");
    CHECK(followed.get(client, "Version") == "9.8.7");
    CHECK(followed.get(client, "Level") == "released");
    followed.board.run_to(5500ms);
    CHECK(followed.get(client, "Level") == "pressed");
    const std::size_t signals = client.changes.size();
    followed.settle(client);
    CHECK(signals == client.changes.size());
}

TEST_CASE("times are microseconds of the board's clock") {
    Followed followed(pontoon_settings(), one_hold(5s, 2s));
    followed.start();
    followed.board.run_to(6s);
    Client client(followed.loop->raw());
    const auto since = (followed.board.line.start() + 5s).time_since_epoch() / 1us;
    CHECK(followed.get(client, "Since") == std::to_string(since));
    CHECK(followed.get(client, "Until") == std::to_string(since + 3'000'000));
}

TEST_CASE("nothing can be set") {
    Followed followed;
    followed.start();
    Client client(followed.loop->raw());
    sd_bus_message* message = nullptr;
    REQUIRE(sd_bus_message_new_method_call(client.raw(),
                                           &message,
                                           bus::object_name,
                                           bus::object_path,
                                           "org.freedesktop.DBus.Properties",
                                           "Set") >= 0);
    const bus::MessageHandle owned{message};
    REQUIRE(sd_bus_message_append(message, "ssv", bus::object_interface, "Cue", "s", "rest") >= 0);
    REQUIRE(
        sd_bus_call_async(
            client.raw(), nullptr, message, bus::deliver<Client, &Client::on_answer>, &client, 0) >=
        0);
    REQUIRE(followed.await([&] { return !client.answers.empty(); }));
    CHECK(client.answers[0] == "org.freedesktop.DBus.Error.PropertyReadOnly");
}

TEST_CASE("a stage that announces is heard by its name") {
    Followed followed(with_announced_stage(), one_hold(5s, 1500ms));
    followed.start();
    followed.board.run_to(4s);
    Client client(followed.loop->raw());
    followed.settle(client);
    followed.board.run_to(8s);
    followed.settle(client);
    CHECK(client.announced == Strings{"write now"});
}

TEST_CASE("a name that another program has is said once, the button works, and it is had later") {
    Followed followed(with_announced_stage(), one_hold(5s, 1500ms));
    followed.bus.start();
    bus::BusHandle other = with_the_name(followed);
    followed.connection.start();
    const auto said = [&] { return followed.journal.count("another program has the name"); };
    REQUIRE(followed.await([&] { return said() == 1; }));
    Client client(followed.loop->raw());
    followed.board.run_to(5500ms);
    CHECK(followed.board.app.cue().name == core::CueName::holding);
    followed.board.run_to(8s);
    other.reset();  // its end lets the name go
    REQUIRE(followed.await([&] {
        followed.settle(client);
        return client.answers.back().empty();
    }));
    CHECK(followed.get(client, "Cue") == "rest");
    CHECK(client.changes.empty());
    CHECK(client.announced.empty());
    CHECK(said() == 1);
}

TEST_CASE("after the bus was restarted the object is there again, as things stand then") {
    Followed followed(pontoon_settings(), one_hold(5s, 100s));
    followed.start();
    followed.board.run_to(4s);
    followed.bus.stop();
    REQUIRE(followed.await([&] { return followed.connection.get() == nullptr; }));
    followed.board.run_to(6s);
    followed.bus.start();
    REQUIRE(followed.await([&] { return followed.connection.get() != nullptr; }));
    Client client(followed.loop->raw());
    REQUIRE(followed.await([&] {
        followed.settle(client);
        return client.answers.back().empty();
    }));
    CHECK(followed.get(client, "Cue") == "holding");
    client.changes.clear();
    followed.board.run_to(9s);
    followed.settle(client);
    CHECK(cues(client) == Strings{"ready"});
}

TEST_CASE("announcements wait for a full bus, a few of them, and what is lost is counted") {
    Events presses;
    constexpr unsigned many = 40'000;  // root's socket takes 8 MiB
    for (unsigned i = 0; i < many; ++i) {
        presses.push_back(moves(5s + i * 4s, Level::active));
        presses.push_back(moves(6500ms + i * 4s, Level::inactive));
    }
    Followed followed(with_announced_stage(), presses);
    followed.start();
    followed.board.run_to(4s);
    Client client(followed.loop->raw());
    followed.settle(client);
    followed.bus.freeze();
    std::uint64_t unsent = 0;
    unsigned pressed = 0;
    while (unsent == 0 && pressed < many) {  // until the socket is full
        followed.board.run_to(8s + pressed++ * 4s);
        REQUIRE(followed.loop->turn(0ms));
        REQUIRE(sd_bus_get_n_queued_write(followed.connection.get(), &unsent) >= 0);
    }
    REQUIRE(unsent > 0);
    const unsigned full = pressed;
    constexpr unsigned more = 12;
    REQUIRE(full + more < many);
    for (; pressed < full + more; ++pressed) {
        followed.board.run_to(8s + pressed * 4s);
        REQUIRE(followed.loop->turn(0ms));
    }
    followed.bus.thaw();
    REQUIRE(followed.await([&] { return followed.journal.count("got lost") == 1; }));
    followed.settle(client);
    followed.settle(client);
    // Of those twelve eight; the one in whose midst the socket filled up may count to either side.
    CHECK(client.announced.size() >= full - 1 + bus::Object::most_announcements);
    CHECK(client.announced.size() < full + more);
    CHECK(followed.get(client, "Cue") == "rest");
}

TEST_CASE("the service goes on without any bus, and says so once") {
    Followed followed(pontoon_settings(), one_hold(5s, 3200ms));
    followed.connection.start();
    REQUIRE(followed.loop->turn(0ms));
    followed.board.run_to(9s);
    CHECK(followed.board.power.asked.size() == 1);
    CHECK(followed.journal.lines.size() == 1);
}
