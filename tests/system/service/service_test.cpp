// SPDX-License-Identifier: MIT
#include "support/temporary_directory.hpp"
#include "system/login/stage.hpp"
#include "system/service/process.hpp"
#include "system/sys/notify_socket.hpp"

#include <csignal>
#include <fstream>
#include <string>
#include <tuple>

#include <catch2/catch_test_macros.hpp>
#include <sys/stat.h>

using namespace nightlatch;
using namespace nightlatch::test;

namespace {

/// A pontoon's configuration, quick enough for a test in real time.
constexpr const char* quick = R"([button]
chip = "soc-gpio"
line = "LID_BUTTON"
pressed = "low"
debounce = "20 ms"

[[stage]]
name = "off"
hold = "300 ms"
action = "power-off"
)";

std::string press_for(const char* length) {
    return std::string("end = \"60 s\"\n[[press]]\nat = \"1 s\"\nfor = \"") + length + "\"\n";
}

class Files {
public:
    [[nodiscard]] std::string write(const std::string& name, const std::string& text) const {
        std::string path = directory_.path() + "/" + name;
        std::ofstream(path) << text;
        chmod(path.c_str(), 0600);
        return path;
    }

    [[nodiscard]] std::string path(const std::string& name) const {
        return directory_.path() + "/" + name;
    }

private:
    TemporaryDirectory directory_;
};

Process simulated(const Files& files, const std::string& presses) {
    return Process({NIGHTLATCHD,
                    "--config",
                    files.write("nightlatch.toml", quick),
                    "--simulated",
                    files.write("presses.toml", presses)},
                   files.path("out"));
}

/// The real run, dry; the test machine has no chip of that label.
Process real(const Files& files) {
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
    const Files files;
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

TEST_CASE("let go too early, the program asks nothing") {
    Stage stage;
    stage.bus.start();
    FakeLogin1& manager = stage.manager();
    const Files files;
    Process program = simulated(files, press_for("200 ms"));
    CHECK(stage.await([&] { return program.said("nothing happens"); }));
    program.signal(SIGTERM);
    CHECK(stage.await([&] { return program.ended().has_value(); }));
    // The bus keeps the order: what the program sent has arrived before the answer to this.
    stage.ask_bus("org.freedesktop.login1", "org.freedesktop.login1.Manager", "ListInhibitors");
    CHECK(manager.calls().back() == "ListInhibitors");
    CHECK(manager.requests().empty());
}

TEST_CASE("a program that blocks is named, and the button works again") {
    Stage stage;
    stage.bus.start();
    FakeManners manners;
    manners.locks = {{.who = "tide logger", .why = "rewrites its calibration", .pid = 4711}};
    FakeLogin1& manager = stage.manager(manners);
    const Files files;
    Process program = simulated(files, press_for("400 ms"));
    CHECK(stage.await([&] { return program.said("rewrites its calibration"); }));
    CHECK(program.said("tide logger"));
    CHECK(program.said("refused"));
    CHECK(manager.requests().empty());
}

TEST_CASE("ready with a missing chip: fault, retrying, and stopped in order") {
    const NotifySocket socket;
    const Environment notify("NOTIFY_SOCKET", socket.address());
    const Files files;
    std::ignore = files.write("nightlatch.toml", quick);
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
    const Files files;
    std::ignore = files.write("nightlatch.toml", quick);
    Stage stage;
    Process program = real(files);
    REQUIRE(await_message(socket, "READY=1") != "");

    std::string other = quick;
    other.replace(other.find("LID_BUTTON"), 10, "FRONT_KEY");
    std::ignore = files.write("nightlatch.toml", other);
    program.signal(SIGHUP);
    CHECK(await_message(socket, "RELOADING=1").find("MONOTONIC_USEC=") != std::string::npos);
    CHECK(await_message(socket, "READY=1").find("FRONT_KEY") != std::string::npos);

    std::ignore = files.write("nightlatch.toml", "[button\n");
    program.signal(SIGHUP);
    CHECK(await_message(socket, "READY=1").find("FRONT_KEY") != std::string::npos);
    CHECK(program.said("stays in force"));
    CHECK(program.said("nightlatch.toml:1:"));
    CHECK_FALSE(program.ended());
}

TEST_CASE("a bad configuration ends with status 2 and every problem named") {
    const Files files;
    std::string bad = quick;
    bad.replace(bad.find("hold"), 4, "hodl");
    bad += "[leave]\ngrace = 5\n";
    std::ignore = files.write("nightlatch.toml", bad);
    Stage stage;
    Process program = real(files);
    CHECK(stage.await([&] { return program.ended().has_value(); }));
    CHECK(program.ended() == 2);
    CHECK(program.said("hodl"));
    CHECK(program.said("grace"));
}

TEST_CASE("a file that others may write is refused by the service") {
    const Files files;
    const std::string path = files.write("nightlatch.toml", quick);
    REQUIRE(chmod(path.c_str(), 0666) == 0);
    Stage stage;
    Process program({NIGHTLATCHD, "--config", path}, files.path("out"));
    CHECK(stage.await([&] { return program.ended().has_value(); }));
    CHECK(program.ended() == 2);
    CHECK(program.said(path));
}

TEST_CASE("a mistyped option is a usage error") {
    const Files files;
    Stage stage;
    Process program({NIGHTLATCHD, "--simulatd", "x"}, files.path("out"));
    CHECK(stage.await([&] { return program.ended().has_value(); }));
    CHECK(program.ended() == 2);
    CHECK(program.said("--simulatd"));
}
