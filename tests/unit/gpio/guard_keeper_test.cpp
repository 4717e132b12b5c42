// SPDX-License-Identifier: MIT
#include "daemon/guard/guard_keeper.hpp"
#include "support/temporary_directory.hpp"

#include <fstream>
#include <vector>

#include <catch2/catch_test_macros.hpp>
#include <sys/stat.h>

using namespace nightlatch;
using namespace std::chrono_literals;
using guard::GuardFile;
using supervisor::Happening;

namespace {

struct Heard final : ports::Journal {
    std::vector<std::string> lines;

    [[nodiscard]] bool wants(ports::Priority /*priority*/) const noexcept override { return true; }

    void say(ports::Priority /*priority*/,
             ports::Message /*message*/,
             const std::string& text,
             std::span<const ports::Field> /*fields*/) override {
        lines.push_back(text);
    }
};

std::shared_ptr<const config::Settings> settings(Duration release_interval,
                                                 core::ActOn act_on = core::ActOn::release) {
    config::Settings made;
    made.core.release_interval = release_interval;
    made.core.act_on = act_on;
    return std::make_shared<const config::Settings>(std::move(made));
}

Happening noted(core::Why why) {
    core::Note note;
    note.why = why;
    return supervisor::Noted{note};
}

/// A keeper of a file in a folder of its own.
struct Bench {
    test::TemporaryDirectory run;
    std::string path = run.path() + "/guard";
    Heard journal;
    guard::GuardKeeper keeper{path, journal, settings(160ms)};

    void tell(const Happening& what) { keeper.happened({Instant{}, what}); }

    void open() {
        supervisor::LineOpened opened;
        opened.request.active_low = true;
        opened.facts.chip_name = "gpiochip3";
        opened.facts.offset = 9;
        tell(opened);
    }

    [[nodiscard]] std::optional<GuardFile> kept() const {
        const auto file = guard::read_guard_file(path);
        return file ? std::optional(*file) : std::nullopt;
    }

    [[nodiscard]] static GuardFile file(Duration release_interval) {
        return {"gpiochip3", 9, true, lines::Bias::as_is, release_interval};
    }
};

}  // namespace

TEST_CASE("the guard file is there exactly while the line is open", "[guard]") {
    Bench bench;
    std::ofstream(bench.path) << "of an earlier run";
    bench.tell(supervisor::Started{});
    CHECK(access(bench.path.c_str(), F_OK) != 0);
    bench.open();
    CHECK(bench.kept() == Bench::file(160ms));
    bench.tell(supervisor::LineClosing{});
    CHECK(bench.kept() == std::nullopt);
}

TEST_CASE("the service's own end leaves the guard file standing", "[guard]") {
    Bench bench;
    bench.open();
    bench.keeper.leave_standing();
    bench.tell(supervisor::LineClosing{});
    CHECK(bench.kept() == Bench::file(160ms));
}

TEST_CASE("a reload that changes only the release interval reaches the guard file", "[guard]") {
    Bench bench;
    bench.open();
    bench.keeper.take(settings(40ms));
    bench.tell(supervisor::Reloaded{});
    CHECK(bench.kept() == Bench::file(40ms));
}

TEST_CASE("nothing is waited for where the button acts at the threshold", "[guard]") {
    Bench bench;
    bench.open();
    bench.keeper.take(settings(160ms, core::ActOn::threshold));
    bench.tell(supervisor::Reloaded{});
    CHECK(bench.kept() == std::nullopt);
    bench.keeper.take(settings(160ms));
    bench.tell(supervisor::Reloaded{});
    CHECK(bench.kept() == Bench::file(160ms));
}

TEST_CASE("a stuck button is not waited for, whatever the state, until it is let go", "[guard]") {
    for (const core::Why why : {core::Why::stuck, core::Why::pressed_since_start}) {
        Bench bench;
        bench.open();
        bench.tell(noted(why));
        CHECK(bench.kept() == std::nullopt);
        bench.tell(noted(core::Why::going_down));
        CHECK(bench.kept() == std::nullopt);
        bench.tell(noted(core::Why::release_accepted));
        CHECK(bench.kept() == Bench::file(160ms));
    }
}

TEST_CASE("a line opened anew is not known to be stuck", "[guard]") {
    Bench bench;
    bench.open();
    bench.tell(noted(core::Why::stuck));
    bench.tell(supervisor::LineClosing{});
    bench.open();
    CHECK(bench.kept() == Bench::file(160ms));
}

TEST_CASE("a guard file that cannot be written is told once, with the reason", "[guard]") {
    Bench bench;
    bench.path = bench.run.path() + "/none/guard";
    guard::GuardKeeper keeper(bench.path, bench.journal, settings(160ms));
    supervisor::LineOpened opened;
    opened.facts.chip_name = "gpiochip3";
    for (int i = 0; i < 3; ++i) {
        keeper.happened({Instant{}, opened});
    }
    REQUIRE(bench.journal.lines.size() == 1);
    CHECK(bench.journal.lines.front().find("No such file") != std::string::npos);
}
