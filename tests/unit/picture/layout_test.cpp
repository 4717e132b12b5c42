// SPDX-License-Identifier: MIT
// Where things are in a whole picture: what a person who looks at it would complain of.
#include "drawn.hpp"
#include "picture/diagram.hpp"
#include "picture/diagram_axis.hpp"
#include "picture/diagram_text.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::picture;
using namespace nightlatch::picture::svg;
using namespace nightlatch::wave;
using namespace std::chrono_literals;
using testing::Drawn;
using testing::DrawnStroke;
using testing::DrawnText;

namespace {

constexpr auto up = Level::active;
constexpr auto down = Level::inactive;

/// A hold of 3.4 s at each of `begins`, with all that follows from it.
Timeline holds_at(std::initializer_list<Duration> begins, Duration end) {
    Timeline timeline;
    timeline.end = end;
    timeline.thresholds = {{"write now", 1s, "announce"}, {"off", 3s, "power-off"}};
    timeline.raw = {{0s, down}};
    timeline.settled = {{0s, down}};
    timeline.cues = {{0s, "rest", "rest"}};
    timeline.outputs = {{"lid", "lamp", {{0s, "off"}}}};
    for (const Duration at : begins) {
        for (int i = 0; i < 5; ++i) {
            timeline.raw.push_back({at + 1ms * i, i % 2 == 0 ? up : down});
        }
        timeline.raw.push_back({at + 3400ms, down});
        timeline.settled.push_back({at + 30ms, up});
        timeline.settled.push_back({at + 3560ms, down});
        timeline.holds.push_back({at, at + 3400ms});
        timeline.cues.push_back({at + 30ms, "holding", "holding"});
        timeline.cues.push_back({at + 1s, "ready", "ready", "write now"});
        timeline.cues.push_back({at + 3s, "ready", "ready", "off"});
        timeline.cues.push_back({at + 3560ms, "leaving", "asked"});
        timeline.outputs[0].looks.push_back({at + 30ms, "blink 4 Hz", 125ms, 125ms, true});
        timeline.outputs[0].looks.push_back({at + 3s, "on", Duration::max()});
        timeline.outputs[0].looks.push_back({at + 3560ms, "blink 25 Hz", 20ms, 20ms, true});
        timeline.marks.push_back({at, MarkKind::remark, "with wet gloves"});
        timeline.marks.push_back({at + 3560ms,
                                  MarkKind::decision,
                                  "let go after 3.396 s: stage \"off\", power-off, in 5 s"});
        timeline.marks.push_back({at + 3570ms, MarkKind::request, "asking the system"});
        timeline.marks.push_back({at + 3580ms,
                                  MarkKind::answer,
                                  "the delay inhibitor is released: nothing holds it up"});
    }
    return timeline;
}

constexpr std::array widths{std::pair{Width::wide, wide_page},
                            std::pair{Width::narrow, narrow_page}};

/// A picture with breaks beside and between what is told.
struct Broken {
    Drawn drawn;
    Across across;
};

std::vector<Broken> with_breaks() {
    std::vector<Broken> all;
    all.reserve(6);
    for (const auto& [width, across] : widths) {
        for (const Timeline& timeline : {holds_at({2s, 40s}, 70s),
                                         holds_at({2s, 9s, 40s, 80s}, 200s),
                                         holds_at({30s, 60s, 90s, 120s, 150s, 180s, 210s}, 5h)}) {
            all.push_back(
                {testing::read_drawn(draw_svg(timeline, {"Pressed.", "day.toml"}, width)), across});
        }
    }
    return all;
}

std::vector<DrawnText> that_meet(const Drawn& drawn, const Box& box) {
    std::vector<DrawnText> found;
    std::copy_if(drawn.texts.begin(), drawn.texts.end(), std::back_inserter(found), [&](auto& one) {
        return testing::meet(one.box, box);
    });
    return found;
}

bool shows(const std::string& picture, const std::string& text) {
    return picture.find(">" + text + "</text>") != std::string::npos;
}

}  // namespace

TEST_CASE("no break crosses a text", "[diagram]") {
    for (const auto& [drawn, across] : with_breaks()) {
        const std::vector<DrawnStroke> zigzags = drawn.strokes_of("zig");
        REQUIRE(zigzags.size() >= 2);
        REQUIRE(zigzags.size() % 2 == 0);
        for (std::size_t i = 0; i < zigzags.size(); i += 2) {
            // From the left edge of a break to its right one.
            Box broken = zigzags[i].box;
            broken.width = zigzags[i + 1].box.x + zigzags[i + 1].box.width - broken.x;
            CHECK(broken.width > cut_width);
            for (const DrawnText& text : that_meet(drawn, broken)) {
                INFO("the break at " << broken.x << ", " << broken.y);
                FAIL_CHECK(text.words);
            }
        }
    }
}

TEST_CASE("every lane with a drawing is broken where the time is", "[diagram]") {
    const Timeline timeline = holds_at({2s, 40s}, 60s);
    const Drawn drawn = testing::read_drawn(draw_svg(timeline, {"Pressed twice.", ""}));
    const std::vector<DrawnStroke> waves = drawn.strokes_of("wave");
    const std::vector<DrawnStroke> zigzags = drawn.strokes_of("zig");
    for (const DrawnStroke& wave : waves) {
        const bool broken = std::any_of(zigzags.begin(), zigzags.end(), [&](const auto& zigzag) {
            return zigzag.box.y <= wave.box.y &&
                   zigzag.box.y + zigzag.box.height >= wave.box.y + wave.box.height;
        });
        INFO("the wave at " << wave.box.x << ", " << wave.box.y);
        // Close-ups have no breaks: they are below the axis.
        CHECK((broken || wave.box.y > zigzags.back().box.y));
    }
}

TEST_CASE("no text meets another, or leaves the picture", "[diagram]") {
    for (const auto& [drawn, across] : with_breaks()) {
        for (const DrawnText& text : drawn.texts) {
            INFO(text.words);
            CHECK(text.box.x >= 0);
            CHECK(text.box.x + text.box.width <= across.picture);
            CHECK(that_meet(drawn, text.box).size() == 1);
        }
    }
}

TEST_CASE("a stage's long name is cut or broken before its hold time is", "[diagram]") {
    Timeline timeline = holds_at({2s}, 12s);
    timeline.thresholds[1].name = "a stage with a rather long name that goes on and on and on and "
                                  "on and on and on and on and on and on and on and on";
    const Drawn drawn = testing::read_drawn(draw_svg(timeline, {"Pressed once.", ""}));
    CHECK(std::any_of(drawn.texts.begin(), drawn.texts.end(), [](const DrawnText& text) {
        return text.words.ends_with(" 3 s") && text.words.size() > 5;
    }));
}

TEST_CASE("a text is not cut while there is room beside it or above it", "[diagram]") {
    Timeline timeline = holds_at({2s}, 12s);
    const std::string words = "pressed for 30.000 s: too long for a press; nothing happens until "
                              "it is let go (is the button stuck?)";
    timeline.marks = {{11s, MarkKind::trouble, words}};
    timeline.raw = {{0s, down}};
    for (int i = 0; i < 20; ++i) {  // bursts that crowd each other
        for (int edge = 0; edge < 19; ++edge) {
            timeline.raw.push_back({1s + 300ms * i + 1ms * edge, edge % 2 == 0 ? up : down});
        }
    }
    const Drawn drawn = testing::read_drawn(draw_svg(timeline, {"Pressed once.", ""}));
    for (const DrawnText& text : drawn.texts) {
        if (!text.words.ends_with("\xE2\x80\xA6")) {
            continue;
        }
        // Three letters more would meet something.
        const Box beyond{text.box.x + text.box.width, text.box.y, 30, text.box.height};
        const bool at_the_edge = beyond.x + beyond.width > wide_page.label_right;
        const std::vector<DrawnStroke> leads = drawn.strokes_of("lead");
        const bool leads_there = std::any_of(leads.begin(), leads.end(), [&](const auto& lead) {
            return testing::meet({lead.box.x - 0.5, lead.box.y, 1, lead.box.height}, beyond);
        });
        INFO(text.words);
        CHECK((at_the_edge || leads_there || !that_meet(drawn, beyond).empty()));
    }
    CHECK(std::any_of(drawn.texts.begin(), drawn.texts.end(), [](const DrawnText& text) {
        return text.words.ends_with("stuck?)");
    }));
}

TEST_CASE("a number and its unit stand on one line", "[diagram]") {
    Timeline timeline = holds_at({2s}, 12s);
    timeline.marks = {{5s,
                       MarkKind::decision,
                       "let go after 2.896 s: nothing happens (stage \"off\" needs 3 s)"}};
    const Drawn drawn = testing::read_drawn(draw_svg(timeline, {"Pressed once.", ""}));
    CHECK(std::none_of(drawn.texts.begin(), drawn.texts.end(), [](const DrawnText& text) {
        return text.words.ends_with(" 3") || text.words.starts_with("s)");
    }));
}

TEST_CASE("what is ready says for which stage", "[diagram]") {
    const std::string picture = draw_svg(holds_at({2s}, 12s), {"Pressed once.", ""});
    CHECK(shows(picture, "ready: write now"));
    CHECK(shows(picture, "ready: off"));
    CHECK_FALSE(shows(picture, "ready"));
}

TEST_CASE("a lamp has a lane that says what it does in words, and none says that it has none",
          "[diagram]") {
    Timeline timeline = holds_at({2s}, 12s);
    const std::string lamp = draw_svg(timeline, {"Pressed once.", ""});
    for (const char* const words : {"lid", "lamp, up: on", "blink 4 Hz", "on", "blink 25 Hz"}) {
        INFO(words);
        CHECK(shows(lamp, words));
    }
    CHECK_FALSE(shows(lamp, "no [[feedback]]"));
    timeline.outputs.clear();
    CHECK(shows(draw_svg(timeline, {"Pressed once.", ""}), "no [[feedback]]"));
}

TEST_CASE("the story is the largest text, and the files stand small below it", "[diagram]") {
    const Timeline timeline = holds_at({2s}, 12s);
    const std::string story = "Pressed once: power-off is asked for at 5.57 s and accepted.";
    const std::string picture = draw_svg(timeline, {story, "day.toml, day.presses.toml"});
    CHECK(picture.find("class=\"h\">" + story + "</text>") != std::string::npos);
    CHECK(picture.find("class=\"s\">day.toml, day.presses.toml</text>") != std::string::npos);
    const std::string all(150, 'w');
    const Drawn drawn = testing::read_drawn(draw_svg(timeline, {all + " and " + all, ""}));
    CHECK(std::all_of(drawn.texts.begin(), drawn.texts.end(), [](const DrawnText& text) {
        return text.box.x + text.box.width <= wide_page.picture;
    }));
}

TEST_CASE("what is read aloud is sentences, each with one stop", "[diagram]") {
    Timeline timeline = holds_at({2s}, 12s);
    timeline.marks = {{1s, MarkKind::remark, "A tap: nothing happens."},
                      {2s, MarkKind::decision, "let go after 3.4 s"},
                      {3s, MarkKind::answer, "refused: without effect.. "},
                      {4s, MarkKind::trouble, "is it stuck?"},
                      {5s, MarkKind::info, ""}};
    const std::string told = testing::description_of(
        draw_svg(timeline, {"Pressed once: nothing is asked.", "day.toml, day.presses.toml"}));
    CHECK(told == "A timing diagram of 12 s with 1 press, from day.toml, day.presses.toml. "
                  "At 1 s, note: A tap: nothing happens. "
                  "At 2 s, let go after 3.4 s. "
                  "Then the button is pressed and held for 3.4 s. "
                  "At 2.03 s, lamp lid: blink 4 Hz. "
                  "At 3 s, refused: without effect. "
                  "At 4 s, trouble: is it stuck? "
                  "At 5 s, lamp lid: on. "
                  "At 5.56 s, lamp lid: blink 25 Hz.");
}

TEST_CASE("on a phone the smallest letters of a narrow picture are 8 points high", "[diagram]") {
    constexpr double phone = 390;
    CHECK(size_of(Font::small) * phone / narrow_page.picture >= 8);
    const std::string picture = draw_svg(holds_at({2s}, 12s), {"Pressed.", ""}, Width::narrow);
    CHECK(picture.find(" viewBox=\"0 0 " + number(narrow_page.picture) + " ") != std::string::npos);
}
