// SPDX-License-Identifier: MIT
// The state table, cell by cell: which state an input leads to from which. What the table cannot
// say in a word is in state_rules_test.cpp.
#include "property/scene.hpp"

#include <array>
#include <string_view>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

namespace {

enum Column : std::size_t {
    press_accepted,
    release_accepted,
    pressed_again,
    deadline,
    resync,
    vanish,
    storm,
    reply_ok,
    reply_error,
    going_down,
    not_going_down,
    alarm_due,
    column_count,
};

constexpr std::array<std::string_view, column_count> column_names{"press accepted",
                                                                  "release accepted",
                                                                  "pressed again",
                                                                  "deadline",
                                                                  "Resync",
                                                                  "vanish",
                                                                  "storm",
                                                                  "reply ok",
                                                                  "reply error",
                                                                  "PrepareForShutdown true",
                                                                  "PrepareForShutdown false",
                                                                  "alarm due"};

struct Row {
    State from;
    std::array<std::string_view, column_count> to;  ///< empty: ignored, and traced
};

// A cell that only says something, or stays, names its own state. `decide` for an alarm without a
// grace is `asked`.
// clang-format off
constexpr std::array<Row, state_count> table{{
    //  state          press      release    again      deadline      Resync     vanish   storm    ok          error      true       false      alarm
    {State::waiting,    {"",        "rest",    "",        "waiting",    "waiting", "fault", "fault", "",        "",        "leaving", "",        "asked"}},
    {State::rest,       {"holding", "",        "holding", "",           "waiting", "fault", "fault", "",        "",        "leaving", "",        "asked"}},
    {State::holding,    {"",        "rest",    "holding", "ready",      "waiting", "fault", "fault", "",        "",        "leaving", "",        "asked"}},
    {State::ready,      {"",        "asked",   "holding", "ready",      "waiting", "fault", "fault", "",        "",        "leaving", "",        "asked"}},
    {State::stuck,      {"",        "rest",    "",        "",           "waiting", "fault", "fault", "",        "",        "leaving", "",        "asked"}},
    {State::countdown,  {"waiting", "",        "",        "asked",      "waiting", "fault", "fault", "",        "",        "leaving", "",        "asked"}},
    {State::asked,      {"asked",   "",        "",        "unanswered", "",        "",      "",      "asked",   "refused", "leaving", "",        ""}},
    {State::unanswered, {"unanswered", "",     "",        "",           "",        "",      "",      "leaving", "refused", "leaving", "rest",    ""}},
    {State::leaving,    {"leaving", "",        "",        "",           "",        "",      "",      "",        "refused", "",        "waiting", ""}},
    {State::refused,    {"holding", "",        "holding", "rest",       "waiting", "fault", "fault", "",        "",        "leaving", "",        "asked"}},
    {State::fault,      {"",        "",        "",        "fault",      "waiting", "",      "",      "",        "",        "leaving", "",        "asked"}},
}};

// clang-format on

bool is_pressed(const Scene& scene) {
    return scene.level == Level::active;
}

/// In the countdown a press that calls off begins 500 ms after the release and is held; elsewhere
/// it is one that settles. Where the line is pressed already the nearest there is to a press is a
/// drop-out that is none.
void give_press(Scene& scene) {
    if (is_pressed(scene)) {
        scene.blip();
    } else if (scene.state() == State::countdown) {
        scene.pass(500ms);
        scene.press();
        scene.pass(100ms);
    } else {
        scene.press();
    }
}

/// Where the line is released already: a press too short to count or too soon to call off (in the
/// countdown), one that is spent (with a request under way), else a blip.
void give_release(Scene& scene) {
    switch (scene.state()) {
    case State::countdown:
    case State::asked:
    case State::unanswered:
    case State::leaving:
        scene.hold(60ms);
        break;
    case State::rest:
    case State::refused:
        scene.blip();
        break;
    case State::waiting:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::fault:
        scene.release();
        break;
    }
}

/// The button is let go within drop-outs, and pressed before that where it is not down. In the
/// countdown that press would call off, had it not begun anew: in the end it is too young.
void give_pressed_again(Scene& scene) {
    if (!is_pressed(scene)) {
        scene.pass(500ms);
        scene.press();
    }
    scene.flutter();
}

/// Waits for the state's own deadline; where there is none it must not have one.
void give_deadline(Scene& scene) {
    const Instant due = scene.shell.core().next_deadline();
    if (due == never) {
        scene.pass(1h);
    } else {
        scene.pass(due - scene.now);
    }
}

void give(Scene& scene, std::size_t column) {
    switch (column) {
    case press_accepted:
        give_press(scene);
        break;
    case release_accepted:
        give_release(scene);
        break;
    case pressed_again:
        give_pressed_again(scene);
        break;
    case deadline:
        give_deadline(scene);
        break;
    case resync:
        scene.resync();
        break;
    case vanish:
        scene.give(LineGone{scene.now});
        break;
    case storm:
        scene.storm();
        break;
    case reply_ok:
        scene.answer(AnswerKind::accepted);
        break;
    case reply_error:
        scene.answer(AnswerKind::refused);
        break;
    case going_down:
        scene.going_down(true);
        break;
    case not_going_down:
        scene.going_down(false);
        break;
    case alarm_due:
        scene.alarm();
        break;
    default:
        FAIL("no such column");
    }
}

bool asks_for_more(std::string_view from, std::string_view to) {
    return to == "asked" && from != "asked";
}

}  // namespace

TEST_CASE("every cell of the state table leads where the table says", "[table]") {
    std::size_t cells = 0;
    for (const Row& row : table) {
        for (std::size_t column = 0; column < column_count; ++column) {
            Scene scene(row.from);
            const std::size_t notes = scene.shell.notes().size();
            const std::size_t asked = scene.asks();
            const std::string_view from = text_of(row.from);
            const std::string_view to = row.to[column].empty() ? from : row.to[column];

            give(scene, column);

            INFO("from " << from << " on " << column_names[column] << " to " << to);
            INFO(text_of(scene.shell.notes()));
            CHECK(text_of(scene.state()) == to);
            CHECK(scene.asks() - asked == (asks_for_more(from, to) ? 1 : 0));
            CHECK(scene.count<Publish>() == 0);
            const bool had_none = column == deadline && row.to[column].empty();
            CHECK((scene.shell.notes().size() > notes || had_none));
            ++cells;
        }
    }
    CHECK(cells == state_count * column_count);
}

TEST_CASE("a state without a deadline in the table has none", "[table]") {
    for (const Row& row : table) {
        const Scene scene(row.from);
        INFO(text_of(row.from));
        CHECK((scene.shell.core().next_deadline() == never) == row.to[deadline].empty());
    }
}

TEST_CASE("every state shows its cue, and a request under way shows leaving", "[table]") {
    for (const Row& row : table) {
        const Scene scene(row.from);
        const bool under_way = row.from == State::asked || row.from == State::unanswered;
        INFO(text_of(row.from));
        CHECK(text_of(scene.shell.core().cue().name) ==
              (under_way ? "leaving" : text_of(row.from)));
        CHECK(scene.shell.core().cue().state == row.from);
    }
}
