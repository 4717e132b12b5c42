// SPDX-License-Identifier: MIT
// Timelines made by hand, and the whole picture of each: tests/golden/diagram/NAME.svg. To look at
// one, open it in a browser, on a light page, on a dark one, and in the preview of a print.
#include "picture/diagram.hpp"

#include <cstdlib>
#include <fstream>
#include <iterator>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::picture;
using namespace nightlatch::wave;
using namespace std::chrono_literals;

namespace {

void check_picture(const std::string& name, const Timeline& timeline, const DiagramTitle& title) {
    const std::string picture = draw_svg(timeline, title);
    const std::string path = std::string(GOLDEN_FOLDER) + "/diagram/" + name + ".svg";
    if (std::getenv("UPDATE_GOLDEN") != nullptr) {
        std::ofstream(path, std::ios::binary) << picture;
    }
    std::ifstream file(path, std::ios::binary);
    REQUIRE(file.is_open());
    CHECK(picture == std::string(std::istreambuf_iterator<char>(file), {}));
}

constexpr auto up = Level::active;
constexpr auto down = Level::inactive;

/// The tide gauge's logger: write the minute, power off, start again.
std::vector<Threshold> logger_stages() {
    return {
        {"write now", 1s, "announce"}, {"off", 3s, "power-off"}, {"start again", 10s, "reboot"}};
}

}  // namespace

namespace {

/// The lamp in the lid and the buzzer, as the cues of a timeline have them do.
std::vector<Output> lamp_and_buzzer(const std::vector<CueChange>& cues) {
    Output lamp{"lid", "lamp", {}};
    Output buzzer{"BUZZER", "line", {}};
    const auto blink = [](Duration at, const char* look, Duration half) {
        return LookChange{at, look, half, half, true};
    };
    for (const CueChange& cue : cues) {
        if (cue.cue == "waiting") {
            lamp.looks.push_back(blink(cue.at, "blink 0.5 Hz", 1s));
        } else if (cue.cue == "holding") {
            lamp.looks.push_back(blink(cue.at, "blink 4 Hz", 125ms));
        } else if (cue.stage == "write now" || (cue.cue == "leaving" && cue.state == "asked")) {
            lamp.looks.push_back(blink(cue.at, "blink 1 Hz", 500ms));
        } else if (cue.stage == "start again") {
            lamp.looks.push_back(blink(cue.at, "blink 12 Hz", 41666us));
        } else if (cue.cue == "ready") {
            lamp.looks.push_back({cue.at, "on", Duration::max()});
        } else if (cue.cue == "countdown") {
            lamp.looks.push_back(blink(cue.at, "blink 2 Hz", 250ms));
        } else if (cue.cue == "rest") {
            lamp.looks.push_back({cue.at, "off"});
        }
        if (cue.cue == "ready") {
            buzzer.looks.push_back({cue.at, "pulse 100 ms 0 s", 100ms});
        }
    }
    return {lamp, buzzer};
}

}  // namespace

TEST_CASE("the picture of a day on the pontoon: a near miss, a call-off, a power-off",
          "[diagram][golden]") {
    Timeline day;
    day.end = 33s;
    day.thresholds = logger_stages();
    day.raw = {{0s, up},
               {2s, down},
               {4s, up},
               {4150ms, down},
               {6s, up},
               {6800ms, down},
               {9s, up},
               {12200ms, down},
               {14s, up},
               {14200ms, down},
               {17s, up},
               {20400ms, down}};
    day.settled = {{0s, std::nullopt},
                   {30ms, up},
                   {2160ms, down},
                   {4030ms, up},
                   {4310ms, down},
                   {6030ms, up},
                   {6960ms, down},
                   {9030ms, up},
                   {12360ms, down},
                   {14030ms, up},
                   {14360ms, down},
                   {17030ms, up},
                   {20560ms, down}};
    day.holds = {{4s, 4150ms}, {6s, 6800ms}, {9s, 12200ms}, {14s, 14200ms}, {17s, 20400ms}};
    day.cues = {{0s, "waiting", "waiting"},
                {2160ms, "rest", "rest"},
                {4030ms, "holding", "holding"},
                {4310ms, "rest", "rest"},
                {6030ms, "holding", "holding"},
                {6960ms, "rest", "rest"},
                {9030ms, "holding", "holding"},
                {10s, "ready", "ready", "write now"},
                {12s, "ready", "ready", "off"},
                {12360ms, "countdown", "countdown"},
                {14130ms, "rest", "rest"},
                {17030ms, "holding", "holding"},
                {18s, "ready", "ready", "write now"},
                {20s, "ready", "ready", "off"},
                {20560ms, "countdown", "countdown"},
                {25400ms, "leaving", "asked"},
                {25480ms, "leaving", "leaving"}};
    day.marks = {{4s, MarkKind::remark, "A tap, as by a rope's end: nothing happens."},
                 {4150ms, MarkKind::decision, "let go after 150 ms: no stage"},
                 {6s, MarkKind::remark, "A short hold, let go too early: a near miss."},
                 {6800ms, MarkKind::decision, "near miss: let go after 0.8 s, write now is at 1 s"},
                 {9s, MarkKind::remark, "Held until the lamp says so, but called off by a tap."},
                 {12200ms, MarkKind::decision, "off: power-off in 5 s"},
                 {14130ms, MarkKind::decision, "called off by a press"},
                 {17s, MarkKind::remark, "The real thing, and nobody calls it off."},
                 {20400ms, MarkKind::decision, "off: power-off in 5 s"},
                 {25400ms, MarkKind::request, "power-off"},
                 {25440ms, MarkKind::answer, "the login manager accepts"},
                 {25480ms, MarkKind::answer, "the system is going down"}};
    day.outputs = lamp_and_buzzer(day.cues);
    check_picture("day",
                  day,
                  {"Pressed 5 times: power-off is asked for at 25.400 s and accepted.",
                   "tide-logger.toml, pontoon-day.presses.toml"});
}

TEST_CASE("the picture of salt on the contacts: they bounce on letting go", "[diagram][golden]") {
    Timeline salt;
    salt.end = 6s;
    salt.thresholds = {{"off", 3s, "power-off"}};
    salt.raw = {{0s, down},
                {1s, up},
                {1001ms, down},
                {1002ms, up},
                {1003ms, down},
                {1004ms, up},
                {4400ms, down},
                {4403ms, up},
                {4404ms, down},
                {4406ms, up},
                {4412ms, down},
                {4413ms, up},
                {4415ms, down}};
    salt.settled = {{0s, down}, {1034ms, up}, {4575ms, down}};
    salt.holds = {{1004ms, 4400ms}};
    salt.cues = {{0s, "rest", "rest"},
                 {1034ms, "holding", "holding"},
                 {4004ms, "ready", "ready", "off"},
                 {4575ms, "leaving", "asked"},
                 {4700ms, "leaving", "leaving"}};
    salt.marks = {{4400ms, MarkKind::decision, "off: let go after 3.4 s"},
                  {4575ms, MarkKind::request, "power-off"},
                  {4700ms, MarkKind::answer, "the system is going down"}};
    check_picture("bounce",
                  salt,
                  {"Pressed once: power-off is asked for at 4.575 s and accepted.",
                   "tide-logger.toml, salt.presses.toml"});
}

TEST_CASE("the picture of a chip that vanishes, and of a power-off that is refused",
          "[diagram][golden]") {
    Timeline odd;
    odd.end = 48s;
    odd.thresholds = {{"off", 3s, "power-off"}};
    odd.raw = {{0s, down},
               {2s, up},
               {3500ms, std::nullopt},
               {9s, up},
               {11s, down},
               {38s, up},
               {41600ms, down}};
    odd.settled = {{0s, down},
                   {2030ms, up},
                   {3500ms, std::nullopt},
                   {9s, std::nullopt},
                   {9030ms, up},
                   {11030ms, down},
                   {38030ms, up},
                   {41630ms, down}};
    odd.holds = {{2s, 3500ms}, {38s, 41600ms}};
    odd.cues = {{0s, "rest", "rest"},
                {2030ms, "holding", "holding"},
                {3500ms, "fault", "fault"},
                {9s, "waiting", "waiting"},
                {11030ms, "rest", "rest"},
                {38030ms, "holding", "holding"},
                {41s, "ready", "ready", "off"},
                {41630ms, "leaving", "asked"},
                {41700ms, "refused", "refused"},
                {46700ms, "rest", "rest"}};
    odd.marks = {{3s, MarkKind::remark, "The expander is pulled out with the button pressed."},
                 {3500ms, MarkKind::trouble, "the chip has vanished; trying again in 1 s"},
                 {4500ms, MarkKind::service, "looks for the chip"},
                 {6500ms, MarkKind::service, "looks for the chip"},
                 {9s, MarkKind::info, "the chip is back; waiting until the button is let go"},
                 {41600ms, MarkKind::decision, "off: let go after 3.6 s"},
                 {41630ms, MarkKind::request, "power-off"},
                 {41700ms,
                  MarkKind::answer,
                  "refused: <tide-log> blocks shutdown, \"writing the month's file\""}};
    check_picture("refused",
                  odd,
                  {"Pressed twice: power-off is asked for at 41.630 s and refused.",
                   "tide-logger.toml, vanish & refuse.presses.toml"});
}

TEST_CASE("the picture of a very long hold: three stages, a countdown, idle hours",
          "[diagram][golden]") {
    Timeline hold;
    hold.end = 5h + 40s;
    hold.thresholds = logger_stages();
    hold.raw = {{0s, down}, {5h, up}, {5h + 12500ms, down}};
    hold.settled = {{0s, down}, {5h + 30ms, up}, {5h + 12660ms, down}};
    hold.holds = {{5h, 5h + 12500ms}};
    hold.cues = {{0s, "rest", "rest"},
                 {5h + 30ms, "holding", "holding"},
                 {5h + 1s, "ready", "ready", "write now"},
                 {5h + 3s, "ready", "ready", "off"},
                 {5h + 10s, "ready", "ready", "start again"},
                 {5h + 12660ms, "countdown", "countdown"},
                 {5h + 17500ms, "leaving", "asked"},
                 {5h + 17600ms, "leaving", "leaving"}};
    hold.marks = {{5h, MarkKind::remark, "The technician, in the afternoon."},
                  {5h + 12500ms, MarkKind::decision, "start again: reboot in 5 s"},
                  {5h + 17500ms, MarkKind::request, "reboot"},
                  {5h + 17600ms, MarkKind::answer, "the system is going down"}};
    hold.outputs = lamp_and_buzzer(hold.cues);
    check_picture("long-hold",
                  hold,
                  {"Pressed once: reboot is asked for at 18017.500 s and accepted.",
                   "tide-logger.toml, technician.presses.toml"});
}
