// SPDX-License-Identifier: MIT
// The policy file, as a real bus reads it: who may have the name, and who may call what.
#include "system/object/followed.hpp"

#include <catch2/catch_test_macros.hpp>
#include <unistd.h>

using namespace nightlatch;
using namespace nightlatch::test;

namespace {

constexpr const char* access_denied = "org.freedesktop.DBus.Error.AccessDenied";

void need_root() {
    if (geteuid() != 0) {
        SKIP("connects as another account, which only root can");
    }
}

}  // namespace

TEST_CASE("on a bus as strict as the system's everybody may follow, and nobody set or pretend") {
    need_root();
    Followed followed;
    followed.bus.obey(BUS_POLICY);
    followed.start();
    Client client(followed.loop->raw(), nobody);
    const auto answer = [&](const char* interface, const char* member, const Strings& with = {}) {
        const std::size_t before = client.answers.size();
        client.call(interface, member, with);
        REQUIRE(followed.await([&] { return client.answers.size() > before; }));
        return client.answers.back();
    };
    CHECK(answer("org.freedesktop.DBus.Peer", "Ping").empty());
    CHECK(answer("org.freedesktop.DBus.Introspectable", "Introspect").empty());
    CHECK(answer("org.freedesktop.DBus.Properties", "Get", {bus::object_interface, "Cue"}).empty());
    CHECK(answer("org.freedesktop.DBus.Properties", "GetAll", {bus::object_interface}).empty());
    CHECK(answer("org.freedesktop.DBus.Properties", "Set", {bus::object_interface, "Cue"}) ==
          access_denied);
    CHECK(answer("org.freedesktop.DBus.ObjectManager", "GetManagedObjects") == access_denied);
    CHECK(answer(bus::object_interface, "PowerOff") == access_denied);
    // Through the bus's policy; it is then the service that turns the caller away.
    CHECK(answer(bus::object_interface, "CallOff") == access_denied);
    CHECK(client.texts.back().find("nothing was called off") != std::string::npos);
    CHECK(sd_bus_request_name(client.raw(), "org.nightlatch.Nightlatch1", 0) == -EACCES);
}

TEST_CASE("a run by an account that may not have the name says so once, and the button works") {
    need_root();
    Followed followed(testing::pontoon_settings(),
                      {testing::moves(1s, Level::active), testing::moves(4500ms, Level::inactive)});
    followed.bus.obey(BUS_POLICY);
    followed.bus.start();
    as_account(nobody, [&] { followed.connection.start(); });
    const auto said = [&] { return followed.journal.count("programs cannot follow"); };
    REQUIRE(followed.await([&] { return said() == 1; }));
    CHECK(followed.journal.count("org.nightlatch.Nightlatch1.conf is installed") == 1);
    followed.board.run_to(6s);
    REQUIRE(followed.loop->turn(0ms));
    CHECK(followed.board.power.asked.size() == 1);
    CHECK(said() == 1);
}
