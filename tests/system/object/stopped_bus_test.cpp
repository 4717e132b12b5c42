// SPDX-License-Identifier: MIT
// A bus that is stopped while much happens: nothing piles up in the service.
#include "system/object/followed.hpp"

#include <algorithm>
#include <fstream>
#include <string>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::test;
using namespace std::chrono_literals;
using testing::moves;

namespace {

/// What this process alone has written to, in KiB [proc(5), /proc/pid/smaps_rollup].
/// Clean pages are not counted: those of a library are private from the moment on when
/// the last other program that maps it ends.
long private_memory() {
    std::ifstream rollup("/proc/self/smaps_rollup");
    long sum = 0;
    for (std::string line; std::getline(rollup, line);) {
        if (line.starts_with("Private_Dirty:")) {
            sum += std::stol(line.substr(line.find(':') + 1));
        }
    }
    REQUIRE(sum > 0);
    return sum;
}

/// Each press is two changes: holding, rest.
constexpr unsigned warm_up = 2'000;
constexpr unsigned most_until_full = 40'000;  ///< root's socket takes 8 MiB
constexpr unsigned measured = 30'000;
constexpr unsigned presses = warm_up + most_until_full + measured;
constexpr auto period = 2s;

config::Settings with_other_stage() {
    config::Settings settings = testing::pontoon_settings();
    settings.core.stages[0].name = "down";
    return settings;
}

struct Busy : Followed {
    Busy() : Followed(testing::pontoon_settings(), all_presses()) { start(); }

    static Events all_presses() {
        Events events;
        for (unsigned i = 0; i < presses; ++i) {
            events.push_back(moves(period * (i + 1), Level::active));
            events.push_back(moves(period * (i + 1) + 1s, Level::inactive));
        }
        return events;
    }

    /// The records that the board keeps for tests are thrown away.
    void press(unsigned times) {
        for (const unsigned end = pressed_ + times; pressed_ < end; ++pressed_) {
            board.run_to(period * (pressed_ + 1) + 500ms);
            REQUIRE(loop->turn(0ms));
            board.run_to(period * (pressed_ + 1) + 1500ms);
            REQUIRE(loop->turn(0ms));
            board.journal.lines.clear();
            board.cues.shown.clear();
        }
    }

    [[nodiscard]] std::uint64_t unsent() const {
        std::uint64_t count = 0;
        REQUIRE(sd_bus_get_n_queued_write(connection.get(), &count) >= 0);
        return count;
    }

    [[nodiscard]] unsigned pressed() const { return pressed_; }

    /// As the login adapter asks, over the same connection; the follower plays the manager.
    void ask_for_power_off(const Client& manager) {
        REQUIRE(sd_bus_call_method_async(connection.get(),
                                         nullptr,
                                         manager.name().c_str(),
                                         "/org/freedesktop/login1",
                                         "org.freedesktop.login1.Manager",
                                         "PowerOffWithFlags",
                                         nullptr,
                                         nullptr,
                                         "t",
                                         std::uint64_t{0}) >= 0);
    }

private:
    unsigned pressed_ = 0;
};

bool has_stages(const Client::Change& change) {
    return std::find(change.names.begin(), change.names.end(), "Stages") != change.names.end();
}

/// What the follower had been told when it was asked to power off.
struct Asked {
    const Client& client;
    bool asked = false;
    bool after_newest = false;

    static int on_message(sd_bus_message* message, void* self, sd_bus_error* /*error*/) {
        auto& seen = *static_cast<Asked*>(self);
        if (sd_bus_message_is_method_call(
                message, "org.freedesktop.login1.Manager", "PowerOffWithFlags") > 0) {
            seen.asked = true;
            seen.after_newest =
                std::any_of(seen.client.changes.begin(), seen.client.changes.end(), has_stages);
        }
        return 0;
    }
};

}  // namespace

TEST_CASE("a stopped bus: 60,000 changes cost no memory, a request goes before the newest state") {
    Busy busy;
    Client client(busy.loop->raw());
    Asked power_off{client};
    REQUIRE(sd_bus_add_filter(client.raw(), nullptr, Asked::on_message, &power_off) >= 0);
    busy.press(warm_up);
    busy.settle(client);
    busy.bus.freeze();
    while (busy.unsent() == 0 && busy.pressed() < warm_up + most_until_full) {
        busy.press(1);
    }
    REQUIRE(busy.unsent() > 0);
    const std::size_t sent = std::size_t{2} * busy.pressed();
    const long before = private_memory();
    busy.press(measured);
    const long after = private_memory();
    CHECK(after - before <= 64);
    CHECK(busy.unsent() < 4);
    busy.board.reload(with_other_stage());
    REQUIRE(busy.loop->turn(0ms));
    busy.ask_for_power_off(client);
    busy.bus.thaw();
    REQUIRE(
        busy.await([&] { return !client.changes.empty() && has_stages(client.changes.back()); }));
    CHECK(power_off.asked);
    CHECK_FALSE(power_off.after_newest);
    busy.settle(client);
    CHECK(busy.get(client, "Cue") == "waiting");
    CHECK(client.changes.size() <= sent + 2);
}
