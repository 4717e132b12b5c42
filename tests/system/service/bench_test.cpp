// SPDX-License-Identifier: MIT
// The whole service on a chip in memory: what it does with a person at the button, and with a
// journal, a run-time directory and LEDs of the test's own.
#include "system/login/stage.hpp"
#include "system/service/process.hpp"
#include "system/service/program_files.hpp"
#include "system/sys/journal_socket.hpp"
#include "system/sys/notify_socket.hpp"

#include <csignal>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <string>

#include <catch2/catch_test_macros.hpp>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

using namespace nightlatch;
using namespace nightlatch::test;

namespace {

std::string button() {
    return quick_config("stuck_after = \"1 s\"\n");
}

constexpr const char* lamps = R"([[feedback]]
led = "rest"
rest = "on"
fault = "on"

[[feedback]]
led = "ready"
ready = "on"
)";

std::string content(const std::string& path) {
    std::ifstream file(path);
    return {std::istreambuf_iterator<char>(file), {}};
}

/// The service's surroundings, before it is started.
class Bench {
public:
    Bench()
        : manager_("NOTIFY_SOCKET", socket_.address()), runtime_("RUNTIME_DIRECTORY", folder()) {
        REQUIRE(mkfifo(path("button").c_str(), 0600) == 0);
        hand_ = open(path("button").c_str(), O_RDWR | O_CLOEXEC);
        REQUIRE(hand_ >= 0);
        for (const char* led : {"rest", "ready"}) {
            std::filesystem::create_directories(path("leds/") + led);
            write(std::string("leds/") + led + "/brightness", "0");
            write(std::string("leds/") + led + "/max_brightness", "1");
            write(std::string("leds/") + led + "/trigger", "[none]");
        }
        configure(button() + lamps);
    }

    Bench(const Bench&) = delete;
    Bench& operator=(const Bench&) = delete;

    ~Bench() { close(hand_); }

    [[nodiscard]] const std::string& folder() const { return files_.folder(); }

    [[nodiscard]] std::string path(const std::string& name) const { return files_.path(name); }

    void write(const std::string& name, const std::string& text) const { files_.write(name, text); }

    void configure(const std::string& text) const { write("nightlatch.toml", text); }

    /// `journal`: its errors go there, and not into a file.
    Process& start(bool journal = false) {
        std::optional<Environment> stream;
        if (journal) {
            write("out", "");
            const int out = open(path("out").c_str(), O_RDONLY | O_CLOEXEC);
            stream.emplace("JOURNAL_STREAM", stream_of(out));
            close(out);
        }
        return process_.emplace(
            std::vector<std::string>{SERVICE_ON_BENCH, path("nightlatch.toml"), folder()},
            path("out"));
    }

    void hand(char what) const { REQUIRE(::write(hand_, &what, 1) == 1); }

    [[nodiscard]] bool lit(const std::string& led) const {
        return content(path("leds/" + led + "/brightness")) == "1";
    }

    /// The last words to the service manager that have this part in them.
    [[nodiscard]] std::string await_told(const std::string& part) const {
        for (int i = 0; i < 50; ++i) {
            std::string message = socket_.receive();
            if (message.find(part) != std::string::npos) {
                return message;
            }
        }
        return {};
    }

private:
    ProgramFiles files_;
    NotifySocket socket_;
    Environment manager_;
    Environment runtime_;
    int hand_ = -1;
    std::optional<Process> process_;
};

bool await_guard(Stage& stage, const Bench& bench, const std::string& text) {
    return stage.await([&] { return content(bench.path("guard")) == text; });
}

constexpr const char* guard_20_ms = "nightlatch-guard 1 gpiochip0 0 active-low as-is 20\n";

}  // namespace

TEST_CASE("with the journal stuck the service is ready, a press powers off, and a stop is served") {
    Stage stage;
    stage.bus.start();
    FakeLogin1& manager = stage.manager();
    Bench bench;
    JournalSocket journal(bench.path("journal"));
    journal.fill();
    Process& service = bench.start(true);
    CHECK(bench.await_told("READY=1") != "");
    REQUIRE(stage.await([&] { return bench.lit("rest"); }));
    bench.hand('p');
    REQUIRE(stage.await([&] { return bench.lit("ready"); }));
    bench.hand('r');
    CHECK(stage.await([&] { return !manager.requests().empty(); }));
    service.signal(SIGTERM);
    REQUIRE(stage.await([&] { return service.ended().has_value(); }));
    CHECK(service.ended() == 0);
    CHECK(service.output().empty());
}

TEST_CASE("a reload that changes only the release interval reaches the guard file") {
    Stage stage;
    Bench bench;
    const Process& service = bench.start();
    REQUIRE(await_guard(stage, bench, guard_20_ms));
    std::string other = button();
    other.replace(other.find("\"20 ms\""), 7, R"({ press = "20 ms", release = "90 ms" })");
    bench.configure(other);
    service.signal(SIGHUP);
    CHECK(await_guard(stage, bench, "nightlatch-guard 1 gpiochip0 0 active-low as-is 90\n"));
}

TEST_CASE("where the button acts at the threshold nothing is waited for at the very end") {
    Stage stage;
    Bench bench;
    bench.write("guard", "of an earlier run");
    std::string threshold = button();
    threshold.replace(threshold.find("stuck_after"), 0, "act_on = \"threshold\"\n");
    bench.configure(threshold + lamps);
    const Process& service = bench.start();
    REQUIRE(stage.await([&] { return bench.lit("rest"); }));
    CHECK_FALSE(std::filesystem::exists(bench.path("guard")));
    bench.configure(button());
    service.signal(SIGHUP);
    CHECK(await_guard(stage, bench, guard_20_ms));
}

TEST_CASE("a stuck button is not waited for at the very end") {
    Stage stage;
    Bench bench;
    bench.start();
    REQUIRE(await_guard(stage, bench, guard_20_ms));
    REQUIRE(stage.await([&] { return bench.lit("rest"); }));
    bench.hand('p');
    CHECK(stage.await([&] { return !std::filesystem::exists(bench.path("guard")); }));
    bench.hand('r');
    CHECK(await_guard(stage, bench, guard_20_ms));
}

TEST_CASE("a bad configuration at start is shown as fault, which stands on the LED at the end") {
    Stage stage;
    Bench bench;
    bench.configure(std::string(lamps) + "[button\n");
    Process& service = bench.start();
    CHECK(stage.await([&] { return bench.lit("rest"); }));
    service.signal(SIGTERM);
    REQUIRE(stage.await([&] { return service.ended().has_value(); }));
    CHECK(service.ended() == 2);
    CHECK(bench.lit("rest"));
    CHECK(service.said("nightlatch.toml:9:"));
}
