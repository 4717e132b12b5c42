// SPDX-License-Identifier: MIT
// The bus is absent, comes, goes and comes back; and what is done with nobody to ask.
#include "system/login/stage.hpp"

#include <filesystem>
#include <fstream>

#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators.hpp>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

using namespace nightlatch;
using namespace nightlatch::test;

using core::Action;
using core::Inhibitors;
using Strings = std::vector<std::string>;

namespace {

std::string posted_file(const Stage& stage, Action action) {
    return stage.options.second_route_directory +
           (action == Action::reboot ? "/reboot-requested" : "/poweroff-requested");
}

bool exists(const std::string& path) {
    return std::filesystem::exists(path);
}

}  // namespace

TEST_CASE("a bus that is absent at start is waited for, told once, and used when it comes") {
    Stage stage;
    stage.start().hold_delay(true);
    CHECK(stage.journal.count("no connection to the system bus") == 1);
    CHECK(stage.listener.heard.empty());
    stage.bus.start();
    stage.manager();
    REQUIRE(stage.await_heard("login_manager true"));
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 1; }));
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered accepted"));
    CHECK(stage.journal.lines.size() == 2);  // waiting, and there
}

TEST_CASE("a bus that comes while a request waits for it is asked, once") {
    Stage stage;
    stage.options.bus_wait = 60s;
    stage.start();
    stage.ask(Action::power_off, Inhibitors::respect);
    stage.bus.start();
    stage.manager();
    REQUIRE(stage.await_heard("answered accepted"));
    stage.settle();
    CHECK(stage.fake().requests().size() == 1);
    CHECK_FALSE(exists(posted_file(stage, Action::power_off)));
}

TEST_CASE("a bus that is lost and comes back has everything built up again") {
    Stage stage;
    auto& adapter = stage.start_with({});
    adapter.hold_delay(true);
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 1; }));
    for (int i = 1; i <= 2; ++i) {
        stage.listener.heard.clear();
        stage.bus.stop();
        REQUIRE(stage.await_heard("login_manager false"));
        REQUIRE(stage.await([&] { return stage.fake().held_locks() == 0; }));
        stage.manager_vanishes();
        CHECK(stage.journal.count("no connection to the system bus") ==
              static_cast<std::size_t>(i));
        stage.bus.start();
        stage.manager();
        REQUIRE(stage.await_heard("login_manager true"));
        REQUIRE(stage.await([&] { return stage.fake().held_locks() == 1; }));
        stage.settle();
        CHECK(stage.listener.heard ==
              Strings{"login_manager false", "login_manager true", "resumed"});
    }
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered accepted"));
    CHECK(stage.fake().requests().size() == 1);
}

namespace {

/// Another user of the connection: takes a name on it, as an object on the bus does.
struct Neighbour final : bus::BusUser {
    std::vector<std::string> heard;
    sd_bus* bus = nullptr;

    void bus_connected(sd_bus* connected) override {
        bus = connected;
        heard.push_back(sd_bus_request_name(connected, "org.example.Neighbour", 0) < 0 ? "no name"
                                                                                       : "named");
    }

    void bus_lost() override { heard.emplace_back("lost"); }
};

}  // namespace

TEST_CASE("two users share the connection, and both learn that it goes and comes back") {
    Neighbour neighbour;
    Stage stage;
    stage.others = {&neighbour};
    stage.start_with({}).hold_delay(true);
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 1; }));
    CHECK(neighbour.heard == Strings{"named"});
    CHECK(neighbour.bus == stage.connection().get());

    stage.bus.stop();
    REQUIRE(stage.await_heard("login_manager false"));
    CHECK(neighbour.heard == Strings{"named", "lost"});
    CHECK(stage.connection().get() == nullptr);

    stage.manager_vanishes();
    stage.bus.start();
    stage.manager();
    REQUIRE(stage.await_heard("login_manager true"));
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 1; }));
    CHECK(neighbour.heard == Strings{"named", "lost", "named"});
    CHECK(stage.journal.count("no connection to the system bus") == 1);
}

TEST_CASE("a bus lost over a request is not a refusal") {
    Stage stage;
    FakeManners manners;
    manners.outcome = FakeOutcome::keeps_silent;
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return !stage.fake().requests().empty(); }));
    stage.bus.stop();
    REQUIRE(stage.await_heard("login_manager false"));
    stage.manager_vanishes();
    stage.bus.start();
    stage.manager();
    REQUIRE(stage.await_heard("login_manager true"));
    stage.settle();
    CHECK(stage.listener.answers.empty());
    CHECK(stage.fake().requests().empty());
}

TEST_CASE("without a bus a power-off takes the second route, announced, and is taken up") {
    const Action action = GENERATE(Action::power_off, Action::reboot);
    Stage stage;
    stage.options.bus_wait = 50ms;
    stage.start();
    stage.ask(action, Inhibitors::respect);
    REQUIRE(stage.await([&] { return exists(posted_file(stage, action)); }));
    CHECK(stage.journal.count("second route") == 1);
    CHECK(stage.listener.answers.empty());
    std::filesystem::remove(posted_file(stage, action));  // what the root unit does first
    REQUIRE(stage.await_heard("answered taken up"));
    CHECK(stage.listener.heard == Strings{"sent 1", "answered taken up"});
    CHECK(stage.listener.wanted_to_send == std::vector<std::uint32_t>{1});
}

TEST_CASE("with a bus but no login manager, none that it could start, it takes the second route") {
    Stage stage;
    stage.bus.start();
    stage.start();
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return exists(posted_file(stage, Action::power_off)); }));
    CHECK(stage.journal.count("the bus has no login manager and can start none") == 1);
    std::filesystem::remove(posted_file(stage, Action::power_off));
    REQUIRE(stage.await_heard("answered taken up"));
}

TEST_CASE("a second route that nobody takes up is withdrawn, refused, and says what is missing") {
    Stage stage;
    stage.options.bus_wait = 20ms;
    stage.options.pick_up = 50ms;
    stage.start();
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered refused"));
    CHECK(says(stage.listener.answers.back(), {"nightlatch-poweroff.path"}));
    CHECK_FALSE(exists(posted_file(stage, Action::power_off)));  // it cannot act later
}

TEST_CASE("a second route without its directory is refused with the reason") {
    Stage stage;
    stage.options.bus_wait = 20ms;
    stage.options.second_route_directory += "/missing";
    stage.start();
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered refused"));
    CHECK(says(stage.listener.answers.back(), {"second route", "No such file or directory"}));
    CHECK(stage.listener.heard.size() == 1);  // nothing was sent
}

TEST_CASE("what is over when the second route is reached makes no file") {
    Stage stage;
    stage.options.bus_wait = 20ms;
    stage.listener.lets_send = false;
    stage.start();
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return !stage.listener.wanted_to_send.empty(); }));
    CHECK(stage.listener.heard.empty());
    CHECK_FALSE(exists(posted_file(stage, Action::power_off)));
    CHECK(stage.journal.count("second route") == 0);
}

TEST_CASE("a login manager that was started and failed is never passed by") {
    Stage stage;
    // The next start may go better.
    stage.bus.can_start("org.freedesktop.login1", "/bin/false");
    stage.bus.start();
    stage.start();
    stage.ask(Action::power_off, GENERATE(Inhibitors::respect, Inhibitors::override_them));
    REQUIRE(stage.await_heard("answered refused"));
    CHECK(says(stage.listener.answers.back(), {"nothing was asked", "org.freedesktop.DBus.Error"}));
    CHECK_FALSE(exists(posted_file(stage, Action::power_off)));
    CHECK(stage.journal.count("second route") == 0);
}

TEST_CASE("a login manager whose program is not there counts as none") {
    Stage stage;
    stage.bus.can_start("org.freedesktop.login1", "/nowhere/login-manager");
    stage.bus.start();
    stage.start();
    stage.ask(Action::power_off, GENERATE(Inhibitors::respect, Inhibitors::override_them));
    REQUIRE(stage.await_heard("sent 1"));
    CHECK(exists(posted_file(stage, Action::power_off)));
    CHECK(stage.journal.count("org.freedesktop.DBus.Error.Spawn.ExecFailed") == 1);
}

TEST_CASE("a login manager that the service manager will never start counts as none") {
    Stage stage;
    const std::string error = GENERATE("UnitMasked", "NoSuchUnit", "ShuttingDown");
    stage.bus.can_start_by_unit("org.freedesktop.login1", "dbus-org.freedesktop.login1.service");
    stage.bus.start();
    const FakeActivator activator(
        stage.loop->raw(), "org.freedesktop.systemd1." + error, "Unit is as it is.");
    stage.start();
    stage.ask(Action::power_off, GENERATE(Inhibitors::respect, Inhibitors::override_them));
    if (error != "ShuttingDown") {
        REQUIRE(stage.await_heard("sent 1"));
        CHECK(exists(posted_file(stage, Action::power_off)));
        CHECK(stage.journal.count(
                  "cannot be started: Unit is as it is. (org.freedesktop.systemd1." + error) == 1);
    } else {
        REQUIRE(stage.await_heard("answered refused"));
        CHECK(says(stage.listener.answers.back(), {"nothing was asked", error}));
        CHECK_FALSE(exists(posted_file(stage, Action::power_off)));
    }
    CHECK(activator.asked() == Strings{"dbus-org.freedesktop.login1.service"});
}

TEST_CASE("a login manager whose start takes too long is not passed by") {
    Stage stage;
    stage.options.preparation = 100ms;
    stage.bus.can_start_by_unit("org.freedesktop.login1", "dbus-org.freedesktop.login1.service");
    stage.bus.start();  // and no service manager on it: the bus waits
    stage.start();
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered refused"));
    CHECK(says(stage.listener.answers.back(), {"nothing was asked"}));
    CHECK_FALSE(exists(posted_file(stage, Action::power_off)));
}

TEST_CASE("a login manager that does not run is started by being asked") {
    Stage stage;
    const std::string started = stage.bus.directory() + "/started";
    // It takes the name some time after it was started; the bus keeps the call for it.
    stage.bus.can_start("org.freedesktop.login1", "/usr/bin/touch " + started);
    stage.bus.start();
    stage.start();
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return exists(started); }));
    stage.manager();
    REQUIRE(stage.await_heard("answered accepted"));
    stage.settle();
    CHECK(stage.fake().requests().size() == 1);
    CHECK_FALSE(exists(posted_file(stage, Action::power_off)));
}

TEST_CASE("a bus that accepts but never answers is not absent: no second route") {
    Stage stage;
    stage.options.bus_wait = 100ms;
    // A socket that somebody bound and listens at, and that is all.
    const std::string socket_path = stage.bus.directory() + "/socket";
    const int listener = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    REQUIRE(socket_path.size() < sizeof(address.sun_path));
    socket_path.copy(address.sun_path, socket_path.size());
    REQUIRE(bind(listener, reinterpret_cast<sockaddr*>(&address), sizeof(address)) == 0);
    REQUIRE(listen(listener, 8) == 0);
    stage.start();
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered refused"));
    CHECK(says(stage.listener.answers.back(), {"nothing was asked"}));
    CHECK_FALSE(exists(posted_file(stage, Action::power_off)));
    close(listener);
}

TEST_CASE("a file that an earlier run left does not act now") {
    Stage stage;
    std::ofstream(posted_file(stage, Action::power_off)) << "";
    std::ofstream(posted_file(stage, Action::reboot)) << "";
    stage.start();
    CHECK_FALSE(exists(posted_file(stage, Action::power_off)));
    CHECK_FALSE(exists(posted_file(stage, Action::reboot)));
}

TEST_CASE("a folder in the place of the second route's file does not close it") {
    Stage stage;
    stage.options.bus_wait = 20ms;
    const std::string file = posted_file(stage, Action::power_off);
    std::filesystem::create_directories(file + "/left over");
    stage.start();
    CHECK_FALSE(exists(file));
    std::filesystem::create_directories(file + "/made later");
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return std::filesystem::is_regular_file(file); }));
    REQUIRE(unlink(file.c_str()) == 0);
    REQUIRE(stage.await_heard("answered taken up"));
}

TEST_CASE("a request that waits on the second route is withdrawn when the service ends") {
    Stage stage;
    stage.options.bus_wait = 20ms;
    stage.start();
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return exists(posted_file(stage, Action::power_off)); }));
    stage.stop();
    CHECK_FALSE(exists(posted_file(stage, Action::power_off)));
}

TEST_CASE("a dry run does not take the second route either, nor clears it") {
    Stage stage;
    stage.options.bus_wait = 20ms;
    stage.options.dry_run = true;
    std::ofstream(posted_file(stage, Action::reboot)) << "";  // a running service's
    stage.start();
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered would do"));
    CHECK(stage.listener.heard == Strings{"answered would do"});
    CHECK(stage.journal.count("dry run: there is no system bus, would have asked by the second") ==
          1);
    CHECK_FALSE(exists(posted_file(stage, Action::power_off)));
    CHECK(exists(posted_file(stage, Action::reboot)));
}
