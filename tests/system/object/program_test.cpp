// SPDX-License-Identifier: MIT
// The program itself on a bus of the test's own: what it publishes of its configuration's file, and
// a simulated run, which is followed like a real one.
#include "system/object/followed.hpp"
#include "system/service/process.hpp"
#include "system/service/program_files.hpp"

#include <csignal>
#include <string>

#include <catch2/catch_test_macros.hpp>
#include <unistd.h>

using namespace nightlatch;
using namespace nightlatch::test;

namespace {

std::string pontoon() {
    return quick_config() + "[leave]\ngrace = \"60 s\"\n";
}

/// The program before a client.
struct Running {
    void start(Strings arguments) {
        arguments.insert(arguments.begin(),
                         {NIGHTLATCHD, "--config", files.path("nightlatch.toml")});
        stage.bus.start();
        client.emplace(stage.loop->raw());
        program.emplace(arguments, files.path("out"));
        REQUIRE(stage.await([this] { return ask("Cue") && !client->texts.back().empty(); }));
    }

    /// Asks for a property; false while the program is not there.
    bool ask(const char* property) {
        const std::size_t before = client->answers.size();
        client->call("org.freedesktop.DBus.Properties", "Get", {bus::object_interface, property});
        REQUIRE(stage.await([&] { return client->answers.size() > before; }));
        return client->answers.back().empty();
    }

    std::string get(const char* property) {
        REQUIRE(ask(property));
        return client->texts.back();
    }

    /// Until a signal has told of this property and the level, and of no other one.
    bool await_change(const std::string& property) {
        return stage.await([&] {
            return !client->changes.empty() &&
                   client->changes.back().names == Strings{property, "Level"};
        });
    }

    ProgramFiles files;
    Stage stage;
    std::optional<Client> client;
    std::optional<Process> program;
};

}  // namespace

TEST_CASE("the file on disk is published as the same, as different, and as bad with its trouble") {
    Running running;
    running.files.write("nightlatch.toml", pontoon());
    running.start({"--dry-run"});
    CHECK(running.get("Cue") == "fault");  // this machine has no chip of that label
    CHECK(running.get("Reason") == "line-lost");
    REQUIRE(running.get("Configuration") == "a{sv}");
    CHECK(running.client->entries.at("on-disk") == "same");
    CHECK(running.client->entries.at("path") == running.files.path("nightlatch.toml"));
    CHECK_FALSE(running.client->entries.contains("trouble"));
    running.client->changes.clear();
    std::string other = pontoon();
    other.replace(other.find("300 ms"), 6, "400 ms");
    running.files.write("nightlatch.toml", other);
    REQUIRE(running.await_change("Configuration"));
    running.get("Configuration");
    CHECK(running.client->entries.at("on-disk") == "differs");
    running.client->changes.clear();
    running.files.write("nightlatch.toml", pontoon() + "[leve]\n");
    REQUIRE(running.await_change("Configuration"));
    running.get("Configuration");
    CHECK(running.client->entries.at("on-disk") == "bad");
    CHECK(running.client->entries.at("trouble").find("leve") != std::string::npos);
    running.files.write("nightlatch.toml", other);
    running.program->signal(SIGHUP);
    REQUIRE(running.stage.await([&] {
        running.get("Configuration");
        return running.client->entries.at("on-disk") == "same";
    }));
    REQUIRE(running.get("Stages") == "a(sts)");
}

TEST_CASE("a simulated run is followed like a real one, and its countdown called off") {
    Running running;
    running.files.write("nightlatch.toml", pontoon());
    running.files.write("day.toml",
                        "end = \"300 s\"\n[[press]]\nat = \"500 ms\"\nfor = \"600 ms\"\n");
    running.start({"--simulated", running.files.path("day.toml")});
    const auto shows = [&](const char* cue) {
        return running.stage.await([&] { return running.get("Cue") == cue; });
    };
    CHECK(running.get("Dry") == "b");
    REQUIRE(shows("countdown"));
    CHECK(running.get("Stage") == "off");
    if (geteuid() == 0) {
        running.client->call_off();
        REQUIRE(shows("rest"));
        CHECK(running.stage.await([&] { return running.program->said("called off"); }));
    }
    running.program->signal(SIGTERM);
    REQUIRE(running.stage.await([&] { return running.program->ended().has_value(); }));
    CHECK(running.program->ended() == 0);
}

TEST_CASE("a simulated run whose name another program has says so once and goes on") {
    Running running;
    running.files.write("nightlatch.toml", pontoon());
    running.files.write("day.toml",
                        "end = \"2 s\"\n[[press]]\nat = \"500 ms\"\nfor = \"600 ms\"\n");
    running.stage.bus.start();
    const BusHandle other = connect_to_bus(running.stage.loop->raw());
    REQUIRE(sd_bus_request_name(other.get(), bus::object_name, 0) >= 0);
    Process program({NIGHTLATCHD,
                     "--config",
                     running.files.path("nightlatch.toml"),
                     "--simulated",
                     running.files.path("day.toml")},
                    running.files.path("out"));
    REQUIRE(running.stage.await([&] { return program.ended().has_value(); }));
    CHECK(program.ended() == 0);
    const std::string output = program.output();
    const std::string said = "another program has the name";
    REQUIRE(output.find(said) != std::string::npos);
    CHECK(output.find(said) == output.rfind(said));
    CHECK(program.said("countdown"));  // the run's own lines
}
