// SPDX-License-Identifier: MIT
#include "picture/diagram.hpp"
#include "picture/diagram_holds.hpp"

#include <limits>
#include <vector>

#include <catch2/catch_approx.hpp>
#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::picture;
using namespace nightlatch::wave;
using namespace std::chrono_literals;

namespace {

constexpr auto up = Level::active;
constexpr auto down = Level::inactive;

/// The name of the tag whose inside is `tag`: "g" for "g class=…".
std::string name_in(const std::string& tag) {
    return tag.substr(0, tag.find_first_of(" \n/"));
}

/// Whether quotes are closed, and '<' and '&' stand only where they may.
bool sound_inside(const std::string& tag) {
    std::size_t quotes = 0;
    for (const char c : tag) {
        quotes += c == '"' ? 1U : 0U;
        if (c == '<') {
            return false;
        }
    }
    return quotes % 2 == 0;
}

/// An '&' begins one of the entities that we write.
bool sound_text(const std::string& text) {
    for (std::size_t at = text.find('&'); at != std::string::npos; at = text.find('&', at + 1)) {
        const std::string rest = text.substr(at, 6);
        if (!rest.starts_with("&amp;") && !rest.starts_with("&lt;") && !rest.starts_with("&gt;") &&
            !rest.starts_with("&quot;")) {
            return false;
        }
    }
    return text.find('\0') == std::string::npos && text.find('\x1b') == std::string::npos;
}

/// Well-formed as far as our own writing goes: every element is closed in its turn, once.
bool well_formed(const std::string& xml) {
    std::vector<std::string> open;
    std::size_t at = 0;
    while ((at = xml.find('<', at)) != std::string::npos) {
        const std::size_t end = xml.find('>', at);
        if (end == std::string::npos) {
            return false;
        }
        const std::string tag = xml.substr(at + 1, end - at - 1);
        if (!sound_inside(tag)) {
            return false;
        }
        if (tag.starts_with('/')) {
            if (open.empty() || open.back() != tag.substr(1)) {
                return false;
            }
            open.pop_back();
        } else if (!tag.ends_with('/')) {
            open.push_back(name_in(tag));
        }
        at = end;
    }
    return open.empty() && sound_text(xml) && xml.starts_with("<svg ") && xml.ends_with("</svg>\n");
}

bool has(const std::string& picture, const std::string& text) {
    return picture.find(text) != std::string::npos;
}

/// Whether a <text> element is exactly this.
bool shows(const std::string& picture, const std::string& text) {
    return has(picture, ">" + text + "</text>");
}

Timeline customary() {
    Timeline timeline;
    timeline.end = 16s;
    timeline.thresholds = {{"write now", 1s, "announce"}, {"off", 3s, "power-off"}};
    timeline.raw = {{0s, std::nullopt}, {1s, down}, {2s, up}, {5400ms, down}};
    timeline.settled = {{0s, std::nullopt}, {1160ms, down}, {2030ms, up}, {5560ms, down}};
    timeline.holds = {{2s, 5400ms}};
    timeline.cues = {{0s, "waiting", "waiting"},
                     {1160ms, "rest", "rest"},
                     {2030ms, "holding", "holding"},
                     {3s, "ready", "ready"},
                     {5560ms, "countdown", "countdown"},
                     {10400ms, "leaving", "asked"},
                     {10600ms, "leaving", "leaving"},
                     {11s, "refused", "refused"},
                     {13s, "fault", "fault"}};
    timeline.marks = {{2s, MarkKind::remark, "with wet gloves"},
                      {5400ms, MarkKind::decision, "off: let go after 3.4 s"},
                      {10400ms, MarkKind::request, "power-off"},
                      {11s, MarkKind::answer, "refused"},
                      {13s, MarkKind::trouble, "the chip has vanished"},
                      {13s, MarkKind::service, "looks again"},
                      {15s, MarkKind::info, "the end"}};
    return timeline;
}

/// A floating line: an edge every half millisecond, and what a service might make of that.
Timeline storm(std::size_t edges) {
    Timeline timeline;
    timeline.end = Duration(500us) * static_cast<int>(edges);
    for (std::size_t i = 0; i < edges; ++i) {
        const Duration at = Duration(500us) * static_cast<int>(i);
        timeline.raw.push_back({at, i % 2 == 0 ? down : up});
        if (i % 40 == 0) {
            timeline.cues.push_back({at, i % 80 == 0 ? "fault" : "waiting", "fault"});
            timeline.marks.push_back(
                {at, MarkKind::trouble, "the line floats: lay it on a pull-up"});
        }
    }
    return timeline;
}

}  // namespace

TEST_CASE("every cue, stage, decision, request, answer and trouble is there as text", "[diagram]") {
    const std::string picture = draw_svg(customary(), {"tide-logger.toml", "1 request: refused"});
    REQUIRE(well_formed(picture));
    for (const char* const words : {"waiting",
                                    "rest",
                                    "holding",
                                    "ready",
                                    "countdown",
                                    "leaving (asked)",
                                    "write now 1 s",
                                    "off 3 s",
                                    "held 3.4 s",
                                    "off: let go after 3.4 s",
                                    "power-off",
                                    "the chip has vanished",
                                    "looks again",
                                    "the end",
                                    "at 2 s: with wet gloves",
                                    "?",
                                    "tide-logger.toml",
                                    "1 request: refused"}) {
        INFO(words);
        CHECK(shows(picture, words));
    }
}

TEST_CASE("the picture tells a screen reader what it is and what happened", "[diagram]") {
    const std::string picture = draw_svg(customary(), {"1 request: refused", "tide-logger.toml"});
    CHECK(has(picture, "role=\"img\""));
    CHECK(has(picture, "<title>1 request: refused</title>"));
    CHECK(has(picture, "<desc>A timing diagram of 16 s with 1 press, from tide-logger.toml."));
    CHECK(has(picture, "At 10.4 s, power-off."));
    CHECK_FALSE(has(picture, "<script"));
    CHECK_FALSE(has(picture, "href"));
}

TEST_CASE("the same timeline gives the same picture", "[diagram]") {
    CHECK(draw_svg(customary(), {"a", "b"}) == draw_svg(customary(), {"a", "b"}));
}

TEST_CASE("a break says how long a stretch it leaves out, and the picture how long all are",
          "[diagram]") {
    Timeline timeline;
    timeline.end = 1h;
    timeline.raw = {{0s, down}, {30min, up}, {30min + 1s, down}};
    const std::string picture = draw_svg(timeline, {"idle", ""});
    CHECK(shows(picture, "\xE2\x80\xA6 29 min 58.8 s cut \xE2\x80\xA6"));
    CHECK(shows(picture, "\xE2\x80\xA6 29 min 57.8 s cut \xE2\x80\xA6"));
    CHECK(has(picture, "3.4 s of 1 h are drawn, 59 min 56.6 s are cut out at 2 breaks."));
}

TEST_CASE("edges too near to be seen are counted, and shown in a close-up with its own scale",
          "[diagram]") {
    Timeline timeline;
    timeline.end = 5s;
    timeline.raw = {
        {0s, down}, {2s, up}, {2001ms, down}, {2003ms, up}, {2012ms, down}, {2013ms, up}};
    const std::string picture = draw_svg(timeline, {"bounce", ""});
    CHECK(shows(picture, "A: 5 edges in 13 ms"));
    CHECK(has(picture, "raw line from 2 s: 5 edges, magnified "));
    CHECK(shows(picture, "5 ms"));
    CHECK(has(picture, "One scale throughout, but for the close-ups"));
}

TEST_CASE("texts that would break the picture do not", "[diagram]") {
    Timeline timeline = customary();
    const std::string evil("</text>]]>\"'&<!--\0\x1b\xFF\xED\xA0\x80", 23);
    for (Mark& mark : timeline.marks) {
        mark.text = evil;
    }
    for (CueChange& cue : timeline.cues) {
        cue.cue = evil;
    }
    timeline.thresholds[0].name = evil;
    timeline.thresholds[1].action = evil;
    const std::string picture = draw_svg(timeline, {evil, evil});
    CHECK(well_formed(picture));
    CHECK_FALSE(has(picture, "<!--"));
}

TEST_CASE("a timeline that breaks every promise of its type still gives a picture", "[diagram]") {
    Timeline timeline;
    timeline.end = Duration::max();
    timeline.raw = {{5s, up}, {-5s, down}, {Duration::min(), std::nullopt}, {Duration::max(), up}};
    timeline.settled = {{Duration::max(), down}};
    timeline.cues = {{9s, "", ""}, {1s, "rest", ""}};
    timeline.holds = {{9s, 1s}, {Duration::min(), Duration::max()}, {3s, 3s}};
    timeline.thresholds = {{"", Duration::max(), ""}, {"x", -1s, ""}, {"y", 0s, ""}, {"z", 0s, ""}};
    timeline.marks = {{Duration::max(), MarkKind::remark, ""}, {-1s, MarkKind::info, ""}};
    CHECK(well_formed(draw_svg(timeline, {"", ""})));
    timeline.end = -3s;
    CHECK(well_formed(draw_svg(timeline, {"", ""})));
    CHECK(well_formed(draw_svg({}, {"", ""})));
    timeline.end = 1ns;
    CHECK(well_formed(draw_svg(timeline, {"", ""})));
}

TEST_CASE("a storm of two hundred thousand edges is a small picture", "[diagram]") {
    const std::string picture = draw_svg(storm(200'000), {"storm", ""});
    CHECK(well_formed(picture));
    CHECK(picture.size() < 2'000'000);
    CHECK(has(picture, "texts left out"));
    CHECK(has(picture, " edges in "));
}

TEST_CASE("a year of presses is a small picture that counts what it does not draw", "[diagram]") {
    Timeline year;
    year.end = 365 * 24h;
    year.thresholds = {{"off", 3s, "power-off"}};
    year.raw = {{0s, down}};
    for (int i = 0; i < 7300; ++i) {
        const Duration at = 72min * i + 10min;
        year.raw.push_back({at, up});
        year.raw.push_back({at + 2s, down});
        year.holds.push_back({at, at + 2s});
        year.cues.push_back({at, "holding", "holding"});
        year.cues.push_back({at + 2s, "rest", "rest"});
        year.marks.push_back({at, MarkKind::remark, "The same again."});
        year.marks.push_back({at + 2s, MarkKind::decision, "near miss"});
    }
    year.settled = year.raw;
    const std::string picture = draw_svg(year, {"a year", ""});
    CHECK(well_formed(picture));
    CHECK(picture.size() < 2'000'000);
    CHECK(has(picture, "7,288 presses, 14,576 events"));
}

TEST_CASE("texts of any length do not make the picture large", "[diagram]") {
    Timeline timeline = customary();
    for (Mark& mark : timeline.marks) {
        mark.text = std::string(1'000'000, 'w');
    }
    for (CueChange& cue : timeline.cues) {
        cue.cue = std::string(1'000'000, 'w');
    }
    timeline.thresholds[0].name = std::string(1'000'000, 'w');
    const std::string long_title(1'000'000, 'w');
    CHECK(draw_svg(timeline, {long_title, long_title}).size() < 2'000'000);
}

TEST_CASE("thousands of long texts that need escaping do not make the picture large", "[diagram]") {
    Timeline timeline = storm(100'000);
    for (Mark& mark : timeline.marks) {
        mark.text = std::string(1'000, '"');
    }
    for (std::size_t i = 0; i < timeline.cues.size(); ++i) {
        timeline.cues[i].at = timeline.end * static_cast<int>(i) / 2'500;
        timeline.cues[i].cue = std::string(1'000, '"');
    }
    timeline.thresholds = {{std::string(1'000, '"'), 2ms, ""}};
    for (int i = 0; i < 5'000; ++i) {
        timeline.holds.push_back({Duration(10ms) * i, Duration(10ms) * i + 5ms});
    }
    CHECK(draw_svg(timeline, {"long", ""}).size() < 2'000'000);
}

TEST_CASE("a hold climbs to each stage's step in its time, and not beyond the last", "[diagram]") {
    const std::vector<Threshold> stages{{"a", 1s, ""}, {"b", 3s, ""}};
    CHECK(svg::steps_climbed(stages, 0s) == Catch::Approx(0));
    CHECK(svg::steps_climbed(stages, 500ms) == Catch::Approx(0.5));
    CHECK(svg::steps_climbed(stages, 1s) == Catch::Approx(1));
    CHECK(svg::steps_climbed(stages, 2s) == Catch::Approx(1.5));
    CHECK(svg::steps_climbed(stages, 3s) == Catch::Approx(2));
    CHECK(svg::steps_climbed(stages, 1h) == Catch::Approx(2));
    CHECK(svg::steps_climbed({}, 1s) == Catch::Approx(0.5));
}
