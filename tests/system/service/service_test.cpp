// SPDX-License-Identifier: MIT
#include "system/login/stage.hpp"
#include "system/service/process.hpp"
#include "system/service/program_files.hpp"
#include "system/sys/notify_socket.hpp"

#include <csignal>
#include <string>

#include <catch2/catch_test_macros.hpp>
#include <sys/stat.h>

using namespace nightlatch;
using namespace nightlatch::test;

namespace {

std::string press_for(const char* length) {
    return std::string("end = \"60 s\"\n[[press]]\nat = \"1 s\"\nfor = \"") + length + "\"\n";
}

/// On a bus of the test's own, which is this machine to it.
Process simulated(const ProgramFiles& files,
                  const std::string& presses,
                  std::vector<std::string> more = {"--ask-this-machine"}) {
    std::vector<std::string> command{NIGHTLATCHD,
                                     "--config",
                                     files.write("nightlatch.toml", quick_config()),
                                     "--simulated",
                                     files.write("presses.toml", presses)};
    command.insert(command.end(), more.begin(), more.end());
    return Process(std::move(command), files.path("out"));
}

/// The real run, dry; the test machine has no chip of that label.
Process real(const ProgramFiles& files) {
    return Process({NIGHTLATCHD, "--dry-run", "--config", files.path("nightlatch.toml")},
                   files.path("out"));
}

std::string await_message(const NotifySocket& socket, const std::string& part) {
    for (int i = 0; i < 20; ++i) {
        std::string message = socket.receive();
        if (message.find(part) != std::string::npos) {
            return message;
        }
    }
    return {};
}

}  // namespace

TEST_CASE(
    "held and released, the program asks the login manager once, with its delay lock let go") {
    Stage stage;
    stage.bus.start();
    FakeLogin1& manager = stage.manager();
    const ProgramFiles files;
    Process program = simulated(files, press_for("400 ms"));
    CHECK(stage.await([&] { return manager.held_locks() == 1; }));
    CHECK(stage.await([&] { return !manager.requests().empty(); }));
    CHECK(stage.await([&] { return program.said("leaving"); }));
    CHECK(stage.await([&] { return manager.held_locks() == 0; }));
    program.signal(SIGTERM);
    CHECK(stage.await([&] { return program.ended().has_value(); }));
    CHECK(program.ended() == 0);
    CHECK(manager.requests() == std::vector<std::string>{"PowerOffWithFlags 1"});
}

TEST_CASE("a simulated run asks this machine for nothing, unless it is told to") {
    Stage stage;
    stage.bus.start();
    FakeLogin1& manager = stage.manager();
    const ProgramFiles files;
    Process program = simulated(files, press_for("400 ms"), {});
    CHECK(stage.await([&] { return program.said("dry run"); }));
    program.signal(SIGTERM);
    CHECK(stage.await([&] { return program.ended().has_value(); }));
    stage.ask_bus("org.freedesktop.login1", "org.freedesktop.login1.Manager", "ListInhibitors");
    CHECK(manager.calls().back() == "ListInhibitors");
    CHECK(manager.requests().empty());
    CHECK(manager.held_locks() == 0);
}

TEST_CASE("let go too early, the program asks nothing") {
    Stage stage;
    stage.bus.start();
    FakeLogin1& manager = stage.manager();
    const ProgramFiles files;
    Process program = simulated(files, press_for("200 ms"));
    CHECK(stage.await([&] { return program.said("nothing happens"); }));
    program.signal(SIGTERM);
    CHECK(stage.await([&] { return program.ended().has_value(); }));
    // The bus keeps the order: what the program sent has arrived before the answer to this.
    stage.ask_bus("org.freedesktop.login1", "org.freedesktop.login1.Manager", "ListInhibitors");
    CHECK(manager.calls().back() == "ListInhibitors");
    CHECK(manager.requests().empty());
}

TEST_CASE("lines that are typed faster than they are read move the button one after the other") {
    const ProgramFiles files;
    Stage stage;
    Process program({"/bin/sh",
                     "-c",
                     R"(printf 'press\nrelease\npress\n' | "$0" --simulated - --config "$1")",
                     NIGHTLATCHD,
                     files.write("nightlatch.toml", quick_config())},
                    files.path("out"));
    REQUIRE(stage.await([&] { return program.ended().has_value(); }));
    CHECK(program.ended() == 0);
    CHECK_FALSE(program.said("already"));
    CHECK_FALSE(program.said("Type "));  // which is for a person
    const std::string output = program.output();
    CHECK(output.find("pressed") < output.find("released"));
    CHECK(output.find("released") < output.rfind("pressed"));
}

TEST_CASE("a program that blocks is named, and the button works again") {
    Stage stage;
    stage.bus.start();
    FakeManners manners;
    manners.locks = {{.who = "tide logger", .why = "rewrites its calibration", .pid = 4711}};
    FakeLogin1& manager = stage.manager(manners);
    const ProgramFiles files;
    Process program = simulated(files, press_for("400 ms"));
    CHECK(stage.await([&] { return program.said("rewrites its calibration"); }));
    CHECK(program.said("tide logger"));
    CHECK(program.said("refused"));
    CHECK(manager.requests().empty());
}

TEST_CASE("ready with a missing chip: fault, retrying, and stopped in order") {
    const NotifySocket socket;
    const Environment notify("NOTIFY_SOCKET", socket.address());
    const ProgramFiles files;
    files.write("nightlatch.toml", quick_config());
    Stage stage;
    Process program = real(files);
    CHECK(await_message(socket, "READY=1").find("fault") != std::string::npos);
    CHECK(stage.await([&] { return program.said("soc-gpio"); }));
    program.signal(SIGTERM);
    CHECK(await_message(socket, "STOPPING=1") != "");
    CHECK(stage.await([&] { return program.ended().has_value(); }));
    CHECK(program.ended() == 0);
}

TEST_CASE("a reload takes a good file over; a bad one leaves the old in force and says so") {
    const NotifySocket socket;
    const Environment notify("NOTIFY_SOCKET", socket.address());
    const ProgramFiles files;
    files.write("nightlatch.toml", quick_config());
    Stage stage;
    Process program = real(files);
    REQUIRE(await_message(socket, "READY=1") != "");

    std::string other = quick_config();
    other.replace(other.find("LID_BUTTON"), 10, "FRONT_KEY");
    files.write("nightlatch.toml", other);
    program.signal(SIGHUP);
    CHECK(await_message(socket, "RELOADING=1").find("MONOTONIC_USEC=") != std::string::npos);
    CHECK(await_message(socket, "READY=1").find("FRONT_KEY") != std::string::npos);

    files.write("nightlatch.toml", "[button\n");
    program.signal(SIGHUP);
    CHECK(await_message(socket, "READY=1").find("FRONT_KEY") != std::string::npos);
    CHECK(program.said("stays in force"));
    CHECK(program.said("nightlatch.toml:1:"));
    CHECK_FALSE(program.ended());
}

TEST_CASE("a bad configuration ends with status 2 and every problem named") {
    const ProgramFiles files;
    std::string bad = quick_config();
    bad.replace(bad.find("hold"), 4, "hodl");
    bad += "[leave]\ngrace = 5\n";
    files.write("nightlatch.toml", bad);
    Stage stage;
    Process program = real(files);
    CHECK(stage.await([&] { return program.ended().has_value(); }));
    CHECK(program.ended() == 2);
    CHECK(program.said("hodl"));
    CHECK(program.said("grace"));
}

TEST_CASE("a file that is not there is for a person to write: status 2") {
    const ProgramFiles files;
    Stage stage;
    Process program = real(files);
    REQUIRE(stage.await([&] { return program.ended().has_value(); }));
    CHECK(program.ended() == 2);
}

TEST_CASE("a file that cannot be read now ends with status 1: another try may help") {
    const ProgramFiles files;
    Stage stage;
    // A regular file whose first byte cannot be read: EIO.
    Process program({NIGHTLATCHD, "--dry-run", "--config", "/proc/self/mem"}, files.path("out"));
    REQUIRE(stage.await([&] { return program.ended().has_value(); }));
    CHECK(program.ended() == 1);
    CHECK(program.said("Input/output error"));
}

TEST_CASE("the status says that the file on disk is bad, until it is good again") {
    const NotifySocket socket;
    const Environment notify("NOTIFY_SOCKET", socket.address());
    const ProgramFiles files;
    files.write("nightlatch.toml", quick_config());
    Stage stage;
    const Process program = real(files);
    REQUIRE(await_message(socket, "READY=1") != "");

    SECTION("also without a reload") {
        files.write("nightlatch.toml", "[button\n");
        CHECK(await_message(socket, "cannot be used").find("nightlatch.toml:1:") !=
              std::string::npos);
    }
    SECTION("after a reload that failed") {
        files.write("nightlatch.toml", "\n[button\n");
        program.signal(SIGHUP);
        CHECK(await_message(socket, "READY=1").find("nightlatch.toml:2:") != std::string::npos);
    }
    SECTION("by a file that was put in its place, or taken away") {
        const std::string other = files.write("other", "[button\n");
        REQUIRE(std::rename(other.c_str(), files.path("nightlatch.toml").c_str()) == 0);
        CHECK(await_message(socket, "nightlatch.toml:1:") != "");
        REQUIRE(std::remove(files.path("nightlatch.toml").c_str()) == 0);
        CHECK(await_message(socket, "No such file") != "");
    }
    const std::string good = files.write("good", quick_config());
    REQUIRE(std::rename(good.c_str(), files.path("nightlatch.toml").c_str()) == 0);
    CHECK(await_message(socket, "post-halt line").find("cannot be used") == std::string::npos);
}

TEST_CASE("a file that others may write is refused by the service") {
    const ProgramFiles files;
    const std::string path = files.write("nightlatch.toml", quick_config());
    REQUIRE(chmod(path.c_str(), 0666) == 0);
    Stage stage;
    Process program({NIGHTLATCHD, "--config", path}, files.path("out"));
    CHECK(stage.await([&] { return program.ended().has_value(); }));
    CHECK(program.ended() == 2);
    CHECK(program.said(path));
}

TEST_CASE("a mistyped option is a usage error") {
    const ProgramFiles files;
    Stage stage;
    Process program({NIGHTLATCHD, "--simulatd", "x"}, files.path("out"));
    CHECK(stage.await([&] { return program.ended().has_value(); }));
    CHECK(program.ended() == 2);
    CHECK(program.said("--simulatd"));
}
