// SPDX-License-Identifier: MIT
// The list and the watch over chips in memory, with a made /sys beside them.
#include "daemon/tool/lines/lines.hpp"
#include "daemon/tool/lines/watch_run.hpp"
#include "daemon/tool/pick_lines.hpp"
#include "desk.hpp"
#include "run_tool.hpp"
#include "support/fake_gpiod.hpp"

#include <cerrno>
#include <filesystem>
#include <fstream>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>

using namespace nightlatch;
using namespace std::chrono_literals;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::Equals;
using Catch::Matchers::StartsWith;
using test::FakeChip;
using test::FakeGpio;
using test::FakeLine;
using test::flat;
using tool::PickedLine;

namespace {

namespace fs = std::filesystem;

/// The tide gauge's board: an SoC's chip, and an expander behind I2C.
struct Board {
    FakeGpio gpio;
    FakeChip& soc = gpio.add(
        0, "soc-gpio", {"", "FRONT_BUTTON", "SUPPLY_RELEASE", "RADIO", "FRONT_LED", "GPIO5"});
    FakeChip& expander = gpio.add(1, "expander", {"LAMP", "RADIO"});
    test::TemporaryDirectory root;

    Board() {
        soc.lines[2].user = "supply-release";
        soc.lines[2].output = true;
        link("/bus/gpio/devices/gpiochip1", "/devices/soc/i2c-1/1-0020/gpiochip1");
        link("/bus/gpio/devices/gpiochip0", "/devices/soc/gpiochip0");
        link("/bus/gpio/devices/gpiochip0/of_node", "/firmware/devicetree/base/gpio@10");
    }

    void link(const std::string& from, const std::string& to) const {
        const std::string sys = gpio.places().sys;
        fs::create_directories(sys + to);
        fs::create_directories(fs::path(sys + from).parent_path());
        fs::create_directory_symlink(sys + to, sys + from);
    }

    void file(const std::string& path, const std::string& bytes) const {
        const std::string whole = root.path() + path;
        fs::create_directories(fs::path(whole).parent_path());
        std::ofstream(whole, std::ios::binary) << bytes;
    }

    /// A tree with the SoC's controller and an LED on its line 4.
    void plant_tree() const {
        using namespace std::string_literals;
        const std::string base = "/sys/firmware/devicetree/base";
        file(base + "/gpio@10/gpio-controller", "");
        file(base + "/gpio@10/#gpio-cells", "\0\0\0\2"s);
        file(base + "/gpio@10/phandle", "\0\0\0\1"s);
        file(base + "/leds/compatible", "gpio-leds\0"s);
        file(base + "/leds/front/gpios", "\0\0\0\1\0\0\0\4\0\0\0\0"s);
    }

    [[nodiscard]] tool::LinesFacts look() const {
        return tool::gather_lines(gpio.places(), root.path());
    }

    /// What was seen with the pin of the SoC's line `offset` used so.
    [[nodiscard]] tool::LinesFacts look_with_pin(unsigned offset,
                                                 const std::string& function) const {
        tool::LinesFacts facts = look();
        const bool is_gpio = function.starts_with("gpio");
        lines::Pins pins;
        pins.ranges = {{"pins", "soc-gpio", 0, 0, 6}};
        pins.pins = {{"pins", offset, "", is_gpio ? "" : "radio", "", function}};
        facts.pins = pins;
        return facts;
    }
};

tool::WatchOptions named(const std::vector<std::string>& lines) {
    tool::WatchOptions options;
    options.lines = lines;
    return options;
}

tool::Refusal refusal(const tool::LinesFacts& facts, const tool::WatchOptions& options) {
    const auto chosen = tool::choose_lines(facts, options);
    REQUIRE_FALSE(chosen);
    return chosen.error();
}

}  // namespace

TEST_CASE("the first screen is the verdict, the next action, and the lines that suit", "[lines]") {
    const Board board;
    board.plant_tree();
    const tool::LinesFacts facts = board.look();
    const std::string text = tool::lines_text(facts, false);
    CHECK_THAT(
        text,
        StartsWith(
            "2 chips, 8 lines, 7 free; 6 suit a button (2 with care).\n"
            "Next: nightlatch lines --watch LINE…, with the lines that your button may be on.\n"));
    CHECK_THAT(text, ContainsSubstring(R"(
gpiochip0 [soc-gpio] /gpio@10
  line  name          now    suits
     0  -             input  yes
     1  FRONT_BUTTON  input  yes
     3  RADIO         input  yes
     5  GPIO5         input  yes
  2 more are held or do not suit: --all shows why
)"));
    CHECK_THAT(text,
               ContainsSubstring("     0  LAMP   input  with care  behind a slow bus: its "
                                 "edges come late\n"));
    CHECK_THAT(text, ContainsSubstring("Not seen: what each pin is used as now"));
    CHECK(tool::lines_status(facts) == 0);
}

TEST_CASE("a terminal shows in colour how the list and the watch ended, in the same words",
          "[lines]") {
    const page::Style colour{.columns = 80, .colour = true};
    {
        const FakeGpio none;
        CHECK_THAT(tool::lines_text(tool::gather_lines(none.places(), ""), false, colour),
                   StartsWith("\x1b[1;31mNo GPIO chip\x1b[0m on this machine.\nNext: "));
    }
    const Board board;
    board.plant_tree();
    const tool::LinesFacts facts = board.look();
    CHECK_THAT(tool::lines_text(facts, false, colour),
               ContainsSubstring("free; \x1b[1;32m6 suit\x1b[0m a button"));
    const tool::WatchSeen still{{{0, 5}}, {bounce::LineWatch(Instant(0s), Level::active)}, {}};
    CHECK_THAT(tool::watch_text(facts, still, {}, colour),
               StartsWith("\x1b[1;31mNothing moved\x1b[0m"));
    tool::WatchSeen moved = still;
    moved.watches[0].sample({Instant(1s), Level::inactive});
    moved.watches[0].advance(Instant(3s));
    CHECK_THAT(tool::watch_text(facts, moved, {}, colour),
               StartsWith("GPIO5 (line 5 of gpiochip0 [soc-gpio])\x1b[1;32m moved\x1b[0m: 1 edge"));
}

TEST_CASE("all lines are shown with who holds them and what speaks against them", "[lines]") {
    const Board board;
    board.plant_tree();
    const std::string text = tool::lines_text(board.look(), true);
    CHECK_THAT(
        text, ContainsSubstring("     2  SUPPLY_RELEASE  output  no     held by supply-release\n"));
    CHECK_THAT(text,
               ContainsSubstring(
                   "     4  FRONT_LED       input   no     an LED in the tree, /leds/front\n"));
}

TEST_CASE("a tree that cannot be read is said once, and speaks against no line", "[lines]") {
    const Board board;
    const tool::LinesFacts facts = board.look();
    CHECK_THAT(tool::lines_text(facts, false),
               StartsWith("2 chips, 8 lines, 7 free; 7 suit a button") &&
                   ContainsSubstring("Not seen: what the device tree wants lines for: "));
}

TEST_CASE("a node that several chips share is not taken for one of them", "[lines]") {
    const Board board;
    board.plant_tree();
    board.link("/bus/gpio/devices/gpiochip1/of_node", "/firmware/devicetree/base/gpio@10");
    const tool::LinesFacts facts = board.look();
    CHECK(facts.uses.empty());
    CHECK_THAT(tool::lines_text(facts, false), ContainsSubstring("chips share that node"));
}

TEST_CASE("a machine without a chip, or with none that may be opened, says what to do", "[lines]") {
    {
        const FakeGpio gpio;
        const tool::LinesFacts facts = tool::gather_lines(gpio.places(), "");
        const std::string text = tool::lines_text(facts, false);
        CHECK_THAT(text, StartsWith("No GPIO chip on this machine.\nNext: "));
        CHECK_THAT(text, !ContainsSubstring("Not seen"));
        CHECK_THAT(refusal(facts, named({"A"})).text, StartsWith("no GPIO chip on this machine"));
        CHECK(tool::lines_status(facts) == 1);
    }
    FakeGpio gpio;
    gpio.add(0, "soc-gpio", {"A"}).open_error = EACCES;
    const tool::LinesFacts facts = tool::gather_lines(gpio.places(), "");
    CHECK_THAT(tool::lines_text(facts, false),
               StartsWith("No GPIO chip could be opened.\nNext: get permission") &&
                   ContainsSubstring("gpiochip0: no permission for"));
    CHECK(tool::lines_status(facts) == 1);
    CHECK_THAT(refusal(facts, named({"A"})).text, StartsWith("no permission for"));
    gpio.add(1, "expander", {"B"});
    CHECK_THAT(refusal(tool::gather_lines(gpio.places(), ""), named({"A"})).text,
               StartsWith("no line is named \"A\"") && ContainsSubstring("\nno permission for"));
}

TEST_CASE("hostile names do not steer the terminal", "[lines]") {
    Board board;
    board.soc.lines[5].name = "\x1b[2J";
    board.soc.lines[2].user = "\x1b]0;x\x07";
    CHECK(tool::lines_text(board.look(), true).find('\x1b') == std::string::npos);
    CHECK(tool::short_name(board.look().survey.chips, {0, 5}) == "soc-gpio:5");
}

TEST_CASE("chips are chosen by label, name or path", "[lines]") {
    const Board board;
    const std::string path = board.gpio.places().dev + "/gpiochip1";
    for (const std::string& chip : {std::string("expander"), std::string("gpiochip1"), path}) {
        const auto facts = tool::only_chips(board.look(), {chip});
        REQUIRE(facts);
        REQUIRE(facts->survey.chips.size() == 1);
        CHECK(facts->survey.chips[0].name == "gpiochip1");
    }
    CHECK_THAT(tool::only_chips(board.look(), {"panel"}).error(),
               Equals("no GPIO chip \"panel\": gpiochip0 [soc-gpio], gpiochip1 [expander]"));
}

TEST_CASE("the list for programs has every line", "[lines]") {
    const Board board;
    board.plant_tree();
    const auto json = nlohmann::json::parse(tool::lines_json(board.look()));
    CHECK(json["format"] == "nightlatch-lines");
    CHECK(json["version"] == 1);
    CHECK(json["usable"] == true);
    REQUIRE(json["chips"].size() == 2);
    CHECK(json["chips"][0]["node"] == "/gpio@10");
    CHECK(json["chips"][1]["sleeps"] == true);
    const auto& held = json["chips"][0]["lines"][2];
    CHECK(held["name"] == "SUPPLY_RELEASE");
    CHECK(held["held_by"] == "supply-release");
    CHECK(held["suits"] == "no");
    CHECK(json["chips"][0]["lines"][1]["held_by"].is_null());
    CHECK(json["chips"][0]["lines"][1]["pin"].is_null());
    CHECK(json["chips"][1]["lines"][0]["suits"] == "with care");
}

TEST_CASE("a line is meant by its name, or by its chip and a name or offset on it", "[lines]") {
    const Board board;
    const tool::Chips chips = board.look().survey.chips;
    CHECK(*tool::pick_line(chips, "FRONT_BUTTON") == PickedLine{0, 1});
    CHECK(*tool::pick_line(chips, "expander:RADIO") == PickedLine{1, 1});
    CHECK(*tool::pick_line(chips, "gpiochip0:0") == PickedLine{0, 0});
    CHECK(*tool::pick_line(chips, "5", "soc-gpio") == PickedLine{0, 5});
    CHECK(*tool::pick_line({chips[0]}, "5") == PickedLine{0, 5});
    CHECK_THAT(tool::pick_line(chips, "RADIO").error(),
               Equals("2 lines are named \"RADIO\": say which, soc-gpio:RADIO, expander:RADIO"));
    CHECK_THAT(tool::pick_line(chips, "5").error(), StartsWith("line 5 of which chip? Say CHIP:5"));
    CHECK_THAT(tool::pick_line(chips, "BACK_BUTTON").error(),
               StartsWith("no line is named \"BACK_BUTTON\""));
    CHECK_THAT(tool::pick_line(chips, "panel:3").error(), StartsWith("no GPIO chip \"panel\""));
    CHECK_FALSE(tool::pick_line(chips, "soc-gpio:6"));
    CHECK_FALSE(tool::pick_line(chips, ""));
}

TEST_CASE("a configuration names a line so that it stays the same after the next boot", "[lines]") {
    Board board;
    board.soc.lines[5].name = "17";  // digits are always an offset
    board.soc.lines[3].name = "GPIO5";
    board.soc.lines[0].name = "GPIO5";
    board.gpio.add(2, "expander", {"A"});
    const tool::Chips chips = board.look().survey.chips;
    CHECK(tool::config_name(chips, {0, 1}) == lines::LineName{"soc-gpio", "FRONT_BUTTON"});
    CHECK(tool::config_name(chips, {0, 5}) == lines::LineName{"soc-gpio", "5"});
    CHECK(tool::config_name(chips, {0, 3}) == lines::LineName{"soc-gpio", "3"});
    CHECK(tool::config_name(chips, {1, 0}) == lines::LineName{"gpiochip1", "LAMP"});
    for (std::size_t chip = 0; chip < chips.size(); ++chip) {
        for (unsigned offset = 0; offset < chips[chip].lines.size(); ++offset) {
            const PickedLine line{chip, offset};
            CHECK(*tool::pick_line(chips, tool::short_name(chips, line)) == line);
        }
    }
}

TEST_CASE("only free lines are asked for, and never the post-halt line", "[watch]") {
    Board board;
    tool::LinesFacts facts = board.look();
    CHECK(tool::choose_lines(facts, named({"FRONT_BUTTON", "soc-gpio:1", "LAMP"}))->size() == 2);
    CHECK_THAT(refusal(facts, named({"FRONT_BUTTON", "SUPPLY_RELEASE"})).text,
               ContainsSubstring("is not free, held by supply-release"));
    board.soc.lines[1].user = "nightlatch";
    CHECK_THAT(refusal(board.look(), named({"FRONT_BUTTON"})).text,
               ContainsSubstring("systemctl stop nightlatch"));
    facts.uses = {{lines::TreeUseKind::post_halt, "/gpio@10", 5, "/supply-release"}};
    const tool::Refusal refused = refusal(facts, named({"GPIO5"}));
    CHECK_THAT(refused.text, ContainsSubstring("could release the supply"));
    CHECK(refused.status == 1);
    CHECK(refusal(facts, named({"BACK_BUTTON"})).status == 2);
}

TEST_CASE("a line whose pin is something else now is refused, though a person named it",
          "[watch]") {
    const Board board;
    CHECK_THAT(refusal(board.look_with_pin(5, "spi0"), named({"GPIO5"})).text,
               ContainsSubstring("its pin is spi0 for radio: that would stop working"));
    CHECK(tool::choose_lines(board.look_with_pin(5, "gpio_in"), named({"GPIO5"})));
}

TEST_CASE("without a name only lines whose pin is known to be GPIO are asked for", "[watch]") {
    const Board board;
    const auto chosen = tool::choose_lines(board.look_with_pin(5, "gpio_in"), named({}));
    REQUIRE(chosen);
    CHECK(*chosen == std::vector<PickedLine>{{0, 5}});
    // The nameless line 0 is not a header line, as far as anybody can tell.
    CHECK_FALSE(tool::choose_lines(board.look_with_pin(0, "gpio_in"), named({})));

    const tool::Refusal refused = refusal(board.look(), named({}));
    CHECK(refused.status == 2);
    CHECK_THAT(refused.text,
               ContainsSubstring("Lines that suit: soc-gpio:0 FRONT_BUTTON soc-gpio:RADIO") &&
                   ContainsSubstring("Next: nightlatch lines --watch soc-gpio:0 …"));
}

TEST_CASE("what is about to be done is said, with the caution where the pin is unknown",
          "[watch]") {
    const Board board;
    tool::WatchOptions options = named({"GPIO5"});
    const std::string caution = "Caution: this can switch a pin to GPIO.";
    const std::string unknown = tool::before_text(board.look(), {{0, 5}}, options);
    CHECK_THAT(unknown,
               StartsWith("About to ask the kernel for this line as an input, with no bias set:\n"
                          "  GPIO5 (line 5 of gpiochip0 [soc-gpio])\n") &&
                   ContainsSubstring(caution));
    options.bias = lines::Bias::pull_up;
    const std::string known =
        tool::before_text(board.look_with_pin(5, "gpio_in"), {{0, 5}}, options);
    CHECK_THAT(known, ContainsSubstring("as an input, bias pull-up:\n"));
    CHECK_THAT(known, !ContainsSubstring(caution));
}

namespace {

/// A watch over the board's lines on a real loop; presses are edges with the loop's own stamps.
struct Watch {
    Board board;
    std::unique_ptr<sys::EventLoop> loop = std::move(*sys::EventLoop::open());
    tool::LinesFacts facts = board.look();
    tool::WatchOptions options;
    std::vector<PickedLine> lines;
    std::unique_ptr<tool::Watching> watching;
    bool told = false;

    explicit Watch(std::vector<PickedLine> wanted) : lines(std::move(wanted)) {}

    void start() {
        std::vector<gpio::Wanted> requests;
        for (const PickedLine& line : lines) {
            requests.push_back({{facts.survey.chips[line.chip].name, std::to_string(line.offset)},
                                options.bias,
                                false,
                                false});
        }
        auto started = tool::Watching::start(*loop, board.gpio.places(), requests, options.time);
        REQUIRE(started);
        watching = std::move(*started);
        watching->on_end([this] { told = true; });
    }

    void edge(FakeLine& line, bool high) { board.gpio.edge(line, high, loop->now()); }

    /// Turns the loop until line `index` has settled so often at the other level.
    void until_changes(std::size_t index, std::size_t changes) {
        while (watching->watches()[index].changes() < changes && !watching->end()) {
            REQUIRE(loop->turn(10s));
        }
    }

    tool::WatchSeen until_end() {
        while (!watching->end()) {
            REQUIRE(loop->turn(10s));
        }
        CHECK(told);
        CHECK(board.gpio.open_requests == 0);
        return {lines, watching->watches(), *watching->end()};
    }
};

}  // namespace

TEST_CASE("a press names the line that moved, its rest level, and a block to paste", "[watch]") {
    Watch watch({{0, 1}, {0, 5}});
    FakeLine& button = watch.board.soc.lines[1];
    button.high = true;
    watch.start();
    CHECK(button.request->direction != 0);
    CHECK_FALSE(button.request->active_low);
    watch.edge(button, false);
    watch.until_changes(0, 1);
    watch.edge(button, true);
    const tool::WatchSeen seen = watch.until_end();

    CHECK(seen.end == tool::WatchEnd::pressed);
    CHECK(tool::watch_status(seen) == 0);
    CHECK_THAT(tool::watch_text(watch.facts, seen, watch.options),
               Equals(R"(FRONT_BUTTON (line 1 of gpiochip0 [soc-gpio]) moved: 2 edges, rests high.

[button]
chip = "soc-gpio"
line = "FRONT_BUTTON"
pressed = "low"

Next: replace [button] in /etc/nightlatch/nightlatch.toml with this, then
sudo nightlatch check.
)"));
    const auto json = nlohmann::json::parse(tool::watch_json(watch.facts, seen, watch.options));
    CHECK(json["format"] == "nightlatch-lines-watch");
    CHECK(json["moved"] == true);
    CHECK(json["ended_by"] == "pressed");
    CHECK(json["button"]["pressed"] == "low");
    CHECK(json["lines"][0]["rest"] == "high");
    CHECK(json["lines"][0]["whole_press"] == true);
    CHECK(json["lines"][1]["moved"] == false);
}

TEST_CASE("a bias that was asked for is requested, and stands in the block", "[watch]") {
    Watch watch({{0, 5}});
    watch.options.bias = lines::Bias::pull_down;
    watch.start();
    FakeLine& button = watch.board.soc.lines[5];
    watch.edge(button, true);
    watch.until_changes(0, 1);
    watch.edge(button, false);
    const std::string text = tool::watch_text(watch.facts, watch.until_end(), watch.options);
    CHECK_THAT(text,
               ContainsSubstring("line = \"GPIO5\"\npressed = \"high\"\nbias = \"pull-down\"\n"));
}

TEST_CASE("lines that move together are all named, the first one gets the block", "[watch]") {
    Watch watch({{0, 1}, {0, 5}});
    watch.start();
    FakeLine& first = watch.board.soc.lines[5];
    FakeLine& second = watch.board.soc.lines[1];
    watch.edge(first, true);
    watch.until_changes(1, 1);
    watch.edge(second, true);
    watch.until_changes(0, 1);
    watch.edge(first, false);
    watch.edge(second, false);
    const std::string text = tool::watch_text(watch.facts, watch.until_end(), watch.options);
    CHECK_THAT(text,
               ContainsSubstring("FRONT_BUTTON (line 1") && ContainsSubstring("2 lines moved:") &&
                   ContainsSubstring("line = \"GPIO5\""));
}

TEST_CASE("a watch that sees nothing ends by its time and says what to try", "[watch]") {
    Watch watch({{0, 5}});
    watch.options.time = 100ms;
    watch.start();
    const tool::WatchSeen seen = watch.until_end();
    CHECK(seen.end == tool::WatchEnd::time);
    CHECK(tool::watch_status(seen) == 1);
    CHECK_THAT(
        tool::watch_text(watch.facts, seen, watch.options),
        StartsWith("Nothing moved in 100 ms.\nNext: check the wiring, or try --bias pull-up"));
    const auto json = nlohmann::json::parse(tool::watch_json(watch.facts, seen, watch.options));
    CHECK(json["button"].is_null());
    CHECK(json["ended_by"] == "time");
}

TEST_CASE("an edge that does not last is told and is not a press", "[watch]") {
    Watch watch({{0, 5}});
    watch.options.time = 200ms;
    watch.start();
    watch.edge(watch.board.soc.lines[5], true);
    watch.edge(watch.board.soc.lines[5], false);
    const tool::WatchSeen seen = watch.until_end();
    CHECK(tool::watch_status(seen) == 1);
    CHECK_THAT(tool::watch_text(watch.facts, seen, watch.options),
               ContainsSubstring("GPIO5 had 2 edges, none of which lasted."));
}

TEST_CASE("edges that the kernel dropped are told, by line", "[watch]") {
    Watch watch({{0, 1}, {0, 5}});
    watch.start();
    FakeLine& button = watch.board.soc.lines[5];
    for (int edges = 0; edges < 1'101; ++edges) {  // the kernel keeps 1,024
        watch.edge(button, !button.high);
    }
    watch.until_changes(1, 1);
    watch.edge(button, false);
    const tool::WatchSeen seen = watch.until_end();
    CHECK_THAT(flat(tool::watch_text(watch.facts, seen, watch.options)),
               StartsWith("GPIO5 (line 5 of gpiochip0 [soc-gpio]) moved: 1,025 edges, rests low. "
                          "The kernel dropped 77 more of its edges, which came too fast to be "
                          "read: a press may be missing here. "));
    const auto json = nlohmann::json::parse(tool::watch_json(watch.facts, seen, watch.options));
    CHECK(json["lines"][0]["lost"] == 0);
    CHECK(json["lines"][1]["lost"] == 77);
}

TEST_CASE("interrupted in the middle of a press, the watch says that it guesses", "[watch]") {
    Watch watch({{0, 5}});
    watch.start();
    watch.edge(watch.board.soc.lines[5], true);
    watch.until_changes(0, 1);
    watch.watching->stop(tool::WatchEnd::signal);
    const tool::WatchSeen seen = watch.until_end();
    CHECK(tool::watch_status(seen) == 0);
    CHECK_THAT(tool::watch_text(watch.facts, seen, watch.options),
               ContainsSubstring("No whole press was seen"));
}

TEST_CASE("a chip that goes ends the watch with the reason", "[watch]") {
    Watch watch({{0, 5}});
    watch.start();
    watch.board.gpio.remove(0);
    while (!watch.watching->end()) {
        REQUIRE(watch.loop->turn(10s));
    }
    REQUIRE(watch.watching->failure());
    CHECK(watch.watching->failure()->trouble == Trouble::gone);
    CHECK(watch.board.gpio.open_requests == 0);
}

TEST_CASE("when one line is not available, none is kept", "[watch]") {
    Board board;
    const auto loop = std::move(*sys::EventLoop::open());
    board.soc.lines[5].interrupt = false;
    const auto started =
        tool::Watching::start(*loop,
                              board.gpio.places(),
                              {{{"gpiochip0", "1"}, lines::Bias::as_is, false, false},
                               {{"gpiochip0", "5"}, lines::Bias::as_is, false, false}},
                              60s);
    REQUIRE_FALSE(started);
    CHECK(started.error().trouble == Trouble::unsupported);
    CHECK(board.gpio.open_requests == 0);
}

TEST_CASE("words that the command does not know end with 2 and what is allowed", "[lines]") {
    const std::pair<const char*, const char*> wrong[] = {
        {"lines no-such-chip", "no GPIO chip \"no-such-chip\""},
        {"lines --watch X --bias up", "--bias must be pull-up, pull-down, none or as-is"},
        {"lines --watch X --time 5", "--time must be 1 s to 1 h"},
        {"lines --watch X --time '2 h'", "--time must be 1 s to 1 h"},
        {"lines --bias pull-up", "--watch"},
        {"lines --all --watch X", "--all"},
    };
    for (const auto& [arguments, said] : wrong) {
        INFO(arguments);
        const test::Ran ran = test::run_tool(arguments);
        CHECK(ran.status == 2);
        CHECK_THAT(ran.err, ContainsSubstring(said));
        CHECK(ran.out.empty());
    }
}
