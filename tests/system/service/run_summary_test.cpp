// SPDX-License-Identifier: MIT
// What the service keeps in /run of this run, for the logbook.
#include "daemon/service/run_summary.hpp"
#include "daemon/sys/event_loop.hpp"
#include "logbook/summary_text.hpp"
#include "support/temporary_directory.hpp"
#include "support/virtual_board.hpp"

#include <filesystem>
#include <fstream>
#include <iterator>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace std::chrono_literals;
using service::RunSummary;

namespace {

core::Note note(core::Why why, Duration at) {
    core::Note made;
    made.why = why;
    made.at = Instant(at);
    return made;
}

struct Kept {
    test::TemporaryDirectory directory;
    testing::RecordingJournal journal;
    std::string path = directory.path() + "/run";
    std::unique_ptr<sys::EventLoop> loop = std::move(sys::EventLoop::open().value());

    /// After a turn of the loop, in which it is written.
    [[nodiscard]] std::optional<logbook::Summary> read() const {
        REQUIRE(loop->turn(0ms));
        std::ifstream file(path);
        return logbook::parse_summary_text(std::string{std::istreambuf_iterator<char>(file), {}});
    }
};

void press_off(RunSummary& summary, Duration at) {
    const core::Stage off{"off", 3s, core::Action::power_off};
    const supervisor::ByPress cause{off, 3200ms};
    summary.happened({Instant(at), supervisor::Noted{note(core::Why::press_accepted, at)}});
    summary.happened(
        {Instant(at + 3200ms), supervisor::Decided{note(core::Why::decided, at + 3200ms), cause}});
    summary.happened(
        {Instant(at + 3201ms), supervisor::Asked{off.action, core::Inhibitors::respect, cause}});
}

}  // namespace

TEST_CASE("a run's presses, decision, request and shutdown are kept", "[logbook]") {
    Kept kept;
    RunSummary summary(*kept.loop, kept.path, kept.journal);
    summary.happened({Instant(1s), supervisor::Started{}});
    REQUIRE(kept.read());
    CHECK(*kept.read() == logbook::Summary{});
    summary.happened({Instant(2s), supervisor::Noted{note(core::Why::press_accepted, 2s)}});
    summary.happened({Instant(2s), supervisor::NearMiss{note(core::Why::near_miss, 2s), {}}});
    press_off(summary, 10s);
    summary.happened(
        {Instant(14s), supervisor::GoingDown{note(core::Why::going_down, 14s), true, {}}});
    const logbook::Summary expected{.presses = 2,
                                    .near_misses = 1,
                                    .restarts = 0,
                                    .decided_by = "off",
                                    .action = "power-off",
                                    .decided = Instant(13200ms),
                                    .asked = Instant(13201ms),
                                    .going_down = Instant(14s)};
    CHECK(*kept.read() == expected);
    CHECK(kept.journal.lines.empty());
}

TEST_CASE("a service that is started again in the same boot goes on counting", "[logbook]") {
    Kept kept;
    {
        RunSummary summary(*kept.loop, kept.path, kept.journal);
        press_off(summary, 10s);
    }
    RunSummary again(*kept.loop, kept.path, kept.journal);
    again.happened({Instant(30s), supervisor::Started{}});
    CHECK(kept.read()->restarts == 1);
    CHECK(kept.read()->presses == 1);
    CHECK(kept.read()->decided == Instant(13200ms));
}

TEST_CASE("what happens at once is written once, after all that else is due", "[logbook]") {
    Kept kept;
    RunSummary summary(*kept.loop, kept.path, kept.journal);
    bool was_there = true;
    sys::Deferred other =
        kept.loop->deferred([&] { was_there = std::filesystem::exists(kept.path); });
    press_off(summary, 10s);
    other.post();
    REQUIRE(kept.loop->turn(0ms));
    CHECK_FALSE(was_there);
    CHECK(kept.read()->decided == Instant(13200ms));
    std::filesystem::remove(kept.path);
    REQUIRE(kept.loop->turn(0ms));
    CHECK_FALSE(std::filesystem::exists(kept.path));
}

TEST_CASE("a shutdown that was given up leaves no stamp of its beginning", "[logbook]") {
    Kept kept;
    RunSummary summary(*kept.loop, kept.path, kept.journal);
    summary.happened(
        {Instant(5s), supervisor::GoingDown{note(core::Why::going_down, 5s), true, {}}});
    CHECK(kept.read()->going_down == Instant(5s));
    summary.happened(
        {Instant(6s), supervisor::GoingDown{note(core::Why::not_going_down, 6s), false, {}}});
    CHECK_FALSE(kept.read()->going_down);
}

TEST_CASE("an alarm's level is not a press", "[logbook]") {
    Kept kept;
    RunSummary summary(*kept.loop, kept.path, kept.journal);
    core::Note alarm = note(core::Why::press_accepted, 1s);
    alarm.line = 1;
    summary.happened({Instant(1s), supervisor::Started{}});
    summary.happened({Instant(1s), supervisor::Noted{alarm}});
    CHECK(kept.read()->presses == 0);
}

TEST_CASE("a folder that cannot be written is told once, with what to do", "[logbook]") {
    Kept kept;
    RunSummary summary(*kept.loop, kept.directory.path() + "/missing/run", kept.journal);
    press_off(summary, 10s);
    CHECK_FALSE(kept.read());
    press_off(summary, 20s);
    CHECK_FALSE(kept.read());
    CHECK(kept.journal.lines.size() == 1);
    CHECK(kept.journal.has("cannot be written (No such file or directory): check the unit's"));
}

TEST_CASE("a summary is read back exactly, and nothing of what is none", "[logbook]") {
    const logbook::Summary full{.presses = 14,
                                .near_misses = 3,
                                .restarts = 1,
                                .decided_by = "battery low",
                                .action = "power-off",
                                .decided = Instant(1h),
                                .asked = Instant(1h + 1us),
                                .going_down = Instant(1h + 2ms)};
    const std::string text = logbook::summary_text(full);
    CHECK(*logbook::parse_summary_text(text) == full);
    for (std::size_t length = 0; length < text.size(); ++length) {
        const auto read = logbook::parse_summary_text(text.substr(0, length));
        CHECK((!read || text[length - 1] == '\n'));
    }
    CHECK_FALSE(logbook::parse_summary_text(text + "presses = many\n"));
    CHECK_FALSE(logbook::parse_summary_text(text + "unknown = 1\n"));
    CHECK_FALSE(logbook::parse_summary_text("nightlatch-run 2\n"));
}
