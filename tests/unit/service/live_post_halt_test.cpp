// SPDX-License-Identifier: MIT
#include "daemon/service/live_post_halt.hpp"
#include "support/made_board.hpp"
#include "support/opens.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using Catch::Matchers::ContainsSubstring;
using core::Verdict;
using ports::LookAt;

namespace {

constexpr unsigned devices = 150;

struct World {
    test::MadeBoard board{devices};
    config::Settings settings = test::MadeBoard::settings();
    service::LivePostHalt post_halt{board.made.root(), board.places()};

    ports::PostHaltReport look(LookAt what) { return post_halt.look(settings, what); }
};

}  // namespace

TEST_CASE("after the start a look at the line opens no more than three files", "[post-halt]") {
    World world;
    test::OpensBelow opens(world.board.made.root());
    CHECK(world.look(LookAt::all).verdict == Verdict::configured);
    CHECK(opens.take() > std::size_t{8} * devices);  // a folder and seven files each
    CHECK(world.look(LookAt::line).verdict == Verdict::configured);
    CHECK(opens.take() + 1 <= 3);  // and the chip, which is a fake here
}

TEST_CASE("a driver that has let go of the line is seen without the tree", "[post-halt]") {
    World world;
    CHECK(world.look(LookAt::all).verdict == Verdict::configured);
    world.board.unbind();
    const ports::PostHaltReport report = world.look(LookAt::line);
    CHECK(report.verdict == Verdict::contradicted);
    CHECK(report == world.look(LookAt::all));
}

TEST_CASE("somebody else on the line is seen without the tree", "[post-halt]") {
    World world;
    test::FakeLine& line =
        world.board.gpio.chip_at(world.board.places().dev + "/gpiochip0")->lines[2];
    world.board.unbind();
    line.user.reset();
    CHECK_THAT(world.look(LookAt::all).reason, ContainsSubstring("not bound"));
    line.user = "a stray program";
    const ports::PostHaltReport report = world.look(LookAt::line);
    CHECK_THAT(report.reason, ContainsSubstring("Somebody else holds the post-halt line"));
    CHECK(report == world.look(LookAt::all));
}

TEST_CASE("a chip that comes later is found when it comes", "[post-halt]") {
    World world;
    world.board.gpio.remove(0);
    CHECK(world.look(LookAt::all).verdict == Verdict::cannot_tell);
    test::FakeChip& chip =
        world.board.gpio.add(0, "soc-gpio", {"", "LID_BUTTON", "SUPPLY_RELEASE"});
    chip.lines[2].user = "release";
    CHECK(world.look(LookAt::chips).verdict == Verdict::configured);
    CHECK(world.look(LookAt::line).verdict == Verdict::configured);
}

TEST_CASE("a chip that is just being replaced is looked for anew", "[post-halt]") {
    World world;
    CHECK(world.look(LookAt::all).verdict == Verdict::configured);
    world.board.gpio.remove(0);
    CHECK(world.look(LookAt::line) == world.look(LookAt::all));
    world.board.gpio.add(0, "another", {"A", "B", "C"});
    CHECK(world.look(LookAt::line) == world.look(LookAt::all));
}

TEST_CASE("a tree that changes while the kernel runs is seen at a reload", "[post-halt]") {
    World world;
    CHECK(world.look(LookAt::all).verdict == Verdict::configured);
    world.board.remove_node();
    CHECK(world.look(LookAt::line).verdict == Verdict::configured);
    CHECK(world.look(LookAt::all).verdict == Verdict::absent);
}

TEST_CASE("without a device tree nothing can be told, however little is looked at", "[post-halt]") {
    World world;
    service::LivePostHalt elsewhere{world.board.made.root() + "/sys", world.board.places()};
    CHECK(elsewhere.look(world.settings, LookAt::all).verdict == Verdict::cannot_tell);
    CHECK(elsewhere.look(world.settings, LookAt::line).verdict == Verdict::cannot_tell);
}
