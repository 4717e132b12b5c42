// SPDX-License-Identifier: MIT
#include "daemon/gpio/button_line.hpp"
#include "support/allocations.hpp"
#include "support/fake_gpiod.hpp"

#include <array>
#include <cerrno>
#include <filesystem>

#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <gpiod.h>
#include <grp.h>
#include <poll.h>
#include <sys/stat.h>
#include <unistd.h>

using namespace nightlatch;
using namespace std::chrono_literals;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::Equals;
using gpio::GpioButtonLine;
using test::FakeChip;
using test::FakeGpio;
using test::FakeLine;

namespace {

/// The tide gauge's board: the button is the third line of the SoC's chip.
struct Board {
    FakeGpio gpio;
    FakeChip& chip = gpio.add(0, "soc-gpio", {"", "SUPPLY_RELEASE", "FRONT_BUTTON", "BUZZER"});
    FakeLine& button = chip.lines[2];
    GpioButtonLine line{gpio.places()};

    [[nodiscard]] static ports::LineRequest wanted() {
        return {{"soc-gpio", "FRONT_BUTTON"}, lines::Bias::pull_up, true};
    }

    Error refusal(const ports::LineRequest& request) {
        const Result<ports::LineFacts> opened = line.open(request);
        REQUIRE_FALSE(opened);
        CHECK(line.fd() == -1);
        CHECK(gpio.open_chips == 0);
        return opened.error();
    }

    Error refusal() { return refusal(wanted()); }

    Error refusal(const std::string& chip_name, const std::string& line_name) {
        return refusal({{chip_name, line_name}, lines::Bias::as_is, false});
    }

    std::vector<ports::LineEvent> drain() {
        std::vector<ports::LineEvent> all;
        std::array<ports::LineEvent, 100> some{};
        for (;;) {
            const Result<std::size_t> got = line.drain(some);
            REQUIRE(got);
            if (*got == 0) {
                return all;
            }
            all.insert(all.end(), some.begin(), some.begin() + static_cast<long>(*got));
        }
    }
};

Instant at(Duration since) {
    return Instant(since);
}

short readiness(int fd) {
    pollfd state{fd, POLLIN, 0};
    poll(&state, 1, 0);
    return state.revents;
}

}  // namespace

TEST_CASE("the button line is asked for once, as an input with everything the service relies on",
          "[gpio]") {
    Board board;
    const auto facts = board.line.open(Board::wanted());
    REQUIRE(facts);
    CHECK(facts->chip == "gpiochip0 [soc-gpio]");
    CHECK(facts->chip_name == "gpiochip0");
    CHECK(facts->offset == 2);
    CHECK(facts->name == "FRONT_BUTTON");
    CHECK_FALSE(facts->sleeps);

    REQUIRE(board.button.request);
    CHECK(board.button.request->direction == GPIOD_LINE_DIRECTION_INPUT);
    CHECK(board.button.request->edges == GPIOD_LINE_EDGE_BOTH);
    CHECK(board.button.request->clock == GPIOD_LINE_CLOCK_MONOTONIC);
    CHECK(board.button.request->bias == GPIOD_LINE_BIAS_PULL_UP);
    CHECK(board.button.request->active_low);
    CHECK(board.button.request->buffer_size == 1024);
    CHECK(board.button.request->consumer == "nightlatch");
    CHECK(board.gpio.open_chips == 0);
    CHECK(board.line.fd() >= 0);
}

TEST_CASE("each bias reaches the kernel as itself", "[gpio]") {
    Board board;
    const auto bias_for = [&board](lines::Bias bias) {
        REQUIRE(board.line.open({{"soc-gpio", "2"}, bias, false}));
        return board.button.request->bias;
    };
    CHECK(bias_for(lines::Bias::as_is) == GPIOD_LINE_BIAS_AS_IS);
    CHECK(bias_for(lines::Bias::none) == GPIOD_LINE_BIAS_DISABLED);
    CHECK(bias_for(lines::Bias::pull_up) == GPIOD_LINE_BIAS_PULL_UP);
    CHECK(bias_for(lines::Bias::pull_down) == GPIOD_LINE_BIAS_PULL_DOWN);
}

TEST_CASE("a chip answers to its label, its name, its path, and a link to it", "[gpio]") {
    Board board;
    const std::string dev = board.gpio.places().dev;
    std::filesystem::create_symlink("gpiochip0", dev + "/gpiochip4");
    std::filesystem::create_symlink("gpiochip0", dev + "/front-panel");
    for (const std::string& chip : {std::string("soc-gpio"),
                                    std::string("gpiochip0"),
                                    dev + "/gpiochip0",
                                    std::string("gpiochip4"),
                                    dev + "/front-panel"}) {
        INFO(chip);
        const auto facts = board.line.open({{chip, "2"}, lines::Bias::as_is, false});
        REQUIRE(facts);
        CHECK(facts->chip_name == "gpiochip0");
    }
}

TEST_CASE("a label written as a path opens nothing", "[gpio]") {
    Board board;
    const std::string path = board.gpio.places().dev + "/soc-gpio";
    for (const std::string& chip : {path, std::string("/dev/soc-gpio")}) {
        CHECK(board.refusal(chip, "2").trouble == Trouble::no_chip);
    }
}

TEST_CASE("closing gives the line back, and opening anew does not find itself in the way",
          "[gpio]") {
    Board board;
    REQUIRE(board.line.open(Board::wanted()));
    REQUIRE(board.line.open(Board::wanted()));
    CHECK(board.gpio.open_requests == 1);
    board.line.close();
    CHECK(board.gpio.open_requests == 0);
    CHECK(board.line.fd() == -1);
    CHECK(board.line.level().error().trouble == Trouble::gone);
    std::array<ports::LineEvent, 4> events{};
    CHECK(board.line.drain(events).error().trouble == Trouble::gone);
}

TEST_CASE("pressed is active whatever the polarity, for the level and for edges alike", "[gpio]") {
    const bool active_low = GENERATE(false, true);
    const bool pressed_high = !active_low;
    Board board;
    board.button.high = !pressed_high;
    REQUIRE(board.line.open({{"soc-gpio", "FRONT_BUTTON"}, lines::Bias::as_is, active_low}));
    CHECK(*board.line.level() == Level::inactive);

    board.gpio.edge(board.button, pressed_high, at(5s));
    CHECK(*board.line.level() == Level::active);
    board.gpio.edge(board.button, !pressed_high, at(8s + 1ns));
    const auto events = board.drain();
    REQUIRE(events.size() == 2);
    CHECK(events[0].level == Level::active);
    CHECK(events[0].stamp == at(5s));
    CHECK(events[0].seqno == 1);
    CHECK(events[1].level == Level::inactive);
    CHECK(events[1].stamp == at(8s + 1ns));
    CHECK(events[1].seqno == 2);
}

TEST_CASE("merged edges come as a sample that equals the one before", "[gpio]") {
    Board board;
    REQUIRE(board.line.open({{"soc-gpio", "2"}, lines::Bias::as_is, false}));
    board.gpio.edge(board.button, true, at(1s));
    board.gpio.merged_edges(board.button, at(2s));
    const auto events = board.drain();
    REQUIRE(events.size() == 2);
    CHECK(events[0].level == Level::active);
    CHECK(events[1].level == Level::active);
    CHECK(events[1].stamp == at(2s));
    CHECK(events[1].seqno == 2);
}

TEST_CASE("draining never blocks, and takes no more than there is room for", "[gpio]") {
    Board board;
    REQUIRE(board.line.open({{"soc-gpio", "2"}, lines::Bias::as_is, false}));
    std::array<ports::LineEvent, 3> three{};
    CHECK(*board.line.drain(three) == 0);
    for (int i = 0; i < 5; ++i) {
        board.gpio.edge(board.button, i % 2 == 0, at(1s + i * 1ms));
    }
    CHECK(readiness(board.line.fd()) == POLLIN);
    CHECK(*board.line.drain({}) == 0);
    CHECK(*board.line.drain(three) == 3);
    CHECK(three[2].seqno == 3);
    CHECK(*board.line.drain(three) == 2);
    CHECK(three[1].seqno == 5);
    CHECK(*board.line.drain(three) == 0);
    CHECK(readiness(board.line.fd()) == 0);
}

TEST_CASE("an overflow loses the oldest edges and shows as a gap in the numbers", "[gpio]") {
    Board board;
    REQUIRE(board.line.open({{"soc-gpio", "2"}, lines::Bias::as_is, false}));
    for (int i = 0; i < 1024 + 7; ++i) {
        board.gpio.edge(board.button, i % 2 == 0, at(1s + i * 1ms));
    }
    const auto events = board.drain();
    REQUIRE(events.size() == 1024);
    CHECK(events.front().seqno == 8);
    CHECK(events.back().seqno == 1024 + 7);
}

TEST_CASE("sequence numbers go on where the kernel's 32 bits begin again", "[gpio]") {
    Board board;
    REQUIRE(board.line.open({{"soc-gpio", "2"}, lines::Bias::as_is, false}));
    board.button.seqno = 0xffff'fffd;
    for (int i = 0; i < 4; ++i) {
        board.gpio.edge(board.button, i % 2 == 0, at(1s + i * 1ms));
    }
    const auto events = board.drain();
    REQUIRE(events.size() == 4);
    CHECK(events[1].seqno == 0xffff'ffff);
    CHECK(events[2].seqno == 0x1'0000'0000);
    CHECK(events[3].seqno == 0x1'0000'0001);
}

TEST_CASE("an edge costs no allocation", "[gpio]") {
    Board board;
    REQUIRE(board.line.open({{"soc-gpio", "2"}, lines::Bias::as_is, false}));
    std::array<ports::LineEvent, 64> events{};
    for (int i = 0; i < 50; ++i) {
        board.gpio.edge(board.button, i % 2 == 0, at(1s + i * 1ms));
    }
    const std::size_t before = test::allocations();
    const Result<std::size_t> some = board.line.drain(events);
    const Result<std::size_t> none = board.line.drain(events);
    const Result<Level> level = board.line.level();
    const std::size_t after = test::allocations();
    CHECK(after == before);
    CHECK(*some == 50);
    CHECK(*none == 0);
    CHECK(*level == Level::inactive);
}

TEST_CASE("a chip that vanishes is gone for every call, even with edges waiting", "[gpio]") {
    Board board;
    REQUIRE(board.line.open(Board::wanted()));
    board.gpio.edge(board.button, true, at(1s));
    board.gpio.remove(0);
    CHECK((readiness(board.line.fd()) & POLLHUP) != 0);
    std::array<ports::LineEvent, 4> events{};
    const auto drained = board.line.drain(events);
    REQUIRE_FALSE(drained);
    CHECK(drained.error().trouble == Trouble::gone);
    CHECK_THAT(drained.error().text, ContainsSubstring("gpiochip0 [soc-gpio] has gone"));
    CHECK(board.line.level().error().trouble == Trouble::gone);
}

TEST_CASE("a chip that comes back under another number is found again by its label", "[gpio]") {
    Board board;
    REQUIRE(board.line.open(Board::wanted()));
    board.gpio.remove(0);
    board.gpio.add(0, "expander", {"", "", ""});
    CHECK(board.refusal().trouble == Trouble::no_chip);
    board.gpio.add(3, "soc-gpio", {"FRONT_BUTTON"});
    const auto facts = board.line.open(Board::wanted());
    REQUIRE(facts);
    CHECK(facts->chip_name == "gpiochip3");
    CHECK(facts->offset == 0);
}

TEST_CASE("no chip at all points to the simulated run", "[gpio]") {
    FakeGpio gpio;
    GpioButtonLine line(gpio.places());
    const auto opened = line.open(Board::wanted());
    REQUIRE_FALSE(opened);
    CHECK(opened.error().trouble == Trouble::no_chip);
    CHECK_THAT(opened.error().text,
               Equals("no GPIO chip \"soc-gpio\", nor any other on this machine: to try a "
                      "configuration without one, run \"nightlatchd --simulated FILE\""));
}

TEST_CASE("a chip that is not there is answered with those that are", "[gpio]") {
    Board board;
    board.gpio.add(1, "expander", {""});
    for (const std::string chip : {"front-gpio", "gpiochip7", "/dev/no-such-chip"}) {
        const Error error = board.refusal(chip, "2");
        CHECK(error.trouble == Trouble::no_chip);
        CHECK_THAT(
            error.text,
            Equals("no GPIO chip \"" + chip +
                   "\": give the label of one that is there, gpiochip0 [soc-gpio] (4 lines), "
                   "gpiochip1 [expander] (1 line)"));
    }
}

TEST_CASE("a device that is not a chip is not taken for one", "[gpio]") {
    Board board;
    const Error error = board.refusal("/dev/null", "2");
    CHECK(error.trouble == Trouble::no_chip);
    CHECK_THAT(error.text, ContainsSubstring("/dev/null is not a GPIO chip"));
}

TEST_CASE("two chips of one label are ambiguous, and both are named", "[gpio]") {
    Board board;
    board.gpio.add(10, "soc-gpio", {"", ""});
    board.gpio.add(2, "soc-gpio", {""});
    const Error error = board.refusal();
    CHECK(error.trouble == Trouble::ambiguous);
    CHECK_THAT(error.text,
               Equals("3 GPIO chips are labelled \"soc-gpio\": give the name of one instead, "
                      "gpiochip0 [soc-gpio] (4 lines), gpiochip2 [soc-gpio] (1 line), "
                      "gpiochip10 [soc-gpio] (2 lines)"));
    CHECK(board.line.open({{"gpiochip0", "FRONT_BUTTON"}, lines::Bias::as_is, false}));
}

TEST_CASE("a held line names its holder", "[gpio]") {
    Board board;
    board.button.user = "gpio-keys";
    const Error error = board.refusal();
    CHECK(error.trouble == Trouble::busy);
    CHECK(error.number == EBUSY);
    CHECK_THAT(error.text,
               Equals("line 2 \"FRONT_BUTTON\" of gpiochip0 [soc-gpio] is in use by \"gpio-keys\": "
                      "stop that program, take the line out of that device-tree node, or choose "
                      "another line"));
    board.button.user = "?";
    CHECK_THAT(board.refusal().text, ContainsSubstring("in use by somebody who gives no name"));
    board.button.user = "";
    CHECK_THAT(board.refusal().text, ContainsSubstring("in use by somebody who gives no name"));
}

TEST_CASE("a line that is busy though nobody holds it is told apart", "[gpio]") {
    Board board;
    board.button.interrupt_shared = true;
    const Error error = board.refusal();
    CHECK(error.trouble == Trouble::busy);
    CHECK(error.number == EBUSY);
    CHECK_THAT(error.text, ContainsSubstring("busy although nobody holds it"));
}

TEST_CASE("a line without an interrupt is refused with that reason", "[gpio]") {
    Board board;
    board.button.interrupt = false;
    const Error error = board.refusal();
    CHECK(error.trouble == Trouble::unsupported);
    CHECK_THAT(error.text, ContainsSubstring("can raise no interrupt"));
}

TEST_CASE("what a driver answers to a request becomes a kind of trouble and a remedy", "[gpio]") {
    Board board;
    board.button.refusal = EINVAL;
    CHECK(board.refusal().trouble == Trouble::unsupported);
    board.button.refusal = EPERM;
    CHECK(board.refusal().trouble == Trouble::denied);
    board.button.refusal = ENODEV;
    CHECK(board.refusal().trouble == Trouble::no_chip);
    board.button.refusal = EIO;
    const Error error = board.refusal();
    CHECK(error.trouble == Trouble::other);
    CHECK_THAT(error.text, ContainsSubstring("(Input/output error): try again"));
}

TEST_CASE("missing permission tells the missing rule from the missing group", "[gpio]") {
    Board board;
    const std::string device = board.gpio.places().dev + "/gpiochip0";
    board.chip.open_error = EACCES;

    REQUIRE(chmod(device.c_str(), 0600) == 0);
    for (const std::string chip : {"soc-gpio", "gpiochip0"}) {
        const Error error = board.refusal(chip, "2");
        CHECK(error.trouble == Trouble::denied);
        CHECK_THAT(
            error.text,
            Equals("no permission for " + device +
                   ": no udev rule has given it to a group yet, so wait a moment, or install "
                   "the rule that comes with Nightlatch"));
    }

    // Root's own group is not a group that anybody could be put into.
    if (getgid() == 0) {
        REQUIRE(chmod(device.c_str(), 0660) == 0);
        CHECK_THAT(board.refusal().text, ContainsSubstring("no udev rule has given it to a group"));
    }

    board.chip.open_error = EPERM;
    CHECK(board.refusal().trouble == Trouble::denied);
    CHECK_THAT(board.refusal().text, ContainsSubstring("DeviceAllow=char-gpiochip rw"));

    // Of a chip that is not there at all, nobody may be said to be denied.
    CHECK(board.refusal("gpiochip5", "2").trouble == Trouble::no_chip);
    // One that is there and open to us is had, whatever the others are.
    board.gpio.add(1, "expander", {"FRONT_BUTTON"});
    CHECK(board.line.open({{"expander", "0"}, lines::Bias::as_is, false}));
}

TEST_CASE("a device that belongs to a group names the group", "[gpio]") {
    Board board;
    const std::string device = board.gpio.places().dev + "/gpiochip0";
    board.chip.open_error = EACCES;
    // A file of ours belongs to our group; where that is root's, root may give it to another.
    const gid_t group_id = getgid() == 0 ? 1 : getgid();
    REQUIRE(chown(device.c_str(), static_cast<uid_t>(-1), group_id) == 0);
    const group* const owner = getgrgid(group_id);
    REQUIRE(owner != nullptr);
    REQUIRE(chmod(device.c_str(), 0660) == 0);
    const Error error = board.refusal();
    CHECK(error.trouble == Trouble::denied);
    CHECK_THAT(error.text,
               ContainsSubstring("it is for the group \"" + std::string(owner->gr_name) +
                                 "\", which this process must be in"));
}

TEST_CASE("a chip below a slow bus is known to sleep", "[gpio]") {
    Board board;
    const std::string sys = board.gpio.places().sys;
    const std::filesystem::path real = sys + "/devices/soc/i2c-1/1-0020/gpiochip0";
    std::filesystem::create_directories(real);
    std::filesystem::create_directory_symlink(real, sys + "/bus/gpio/devices/gpiochip0");
    const auto facts = board.line.open(Board::wanted());
    REQUIRE(facts);
    CHECK(facts->sleeps);
}
