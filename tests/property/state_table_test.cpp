// SPDX-License-Identifier: MIT
// The state table, cell by cell: which state an input leads to from which. A state that a cell
// tells apart by what is known of the request has a row for each. What the table cannot say in a
// word is in state_rules_test.cpp and request_life_test.cpp.
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
    unreadable,
    reply_ok,
    reply_error,
    going_down,
    not_going_down,
    alarm_due,
    call_off,
    column_count,
};

constexpr std::array<std::string_view, column_count> column_names{"press accepted",
                                                                  "release accepted",
                                                                  "pressed again",
                                                                  "deadline",
                                                                  "Resync",
                                                                  "vanish",
                                                                  "unreadable",
                                                                  "reply ok",
                                                                  "reply error",
                                                                  "PrepareForShutdown true",
                                                                  "PrepareForShutdown false",
                                                                  "alarm due",
                                                                  "CallOff"};

/// What is known of the request, or whose shutdown it is.
enum class Sort : unsigned char { plain, unsent, unsent_alarm, accepted, taken_up, foreign, dry };

constexpr std::array<std::string_view, 7> sort_names{
    "", "not sent", "an alarm's, not sent", "accepted", "taken up", "somebody else's", "dry"};

struct Row {
    State from;
    Sort sort;
    Duration due;  ///< of the state's own deadline, from when the scene begins; 0 for none
    std::array<std::string_view, column_count> to;  ///< empty: ignored, and traced
};

using enum State;

// A cell that only says something, or stays, names its own state. What "-> rest" means with the
// button pressed is written out.
// clang-format off
constexpr std::array<Row, 18> table{{
    //                                        press         release  again      deadline      Resync     vanish   unread.  ok          error      true       false      alarm    CallOff
    {waiting,    Sort::plain,        29s,    {"",           "rest",  "",        "waiting",    "waiting", "fault", "fault", "",         "",        "leaving", "",        "asked", ""}},
    {rest,       Sort::plain,        0s,     {"holding",    "",      "holding", "",           "waiting", "fault", "fault", "",         "",        "leaving", "",        "asked", ""}},
    {holding,    Sort::plain,        1970ms, {"",           "rest",  "holding", "ready",      "waiting", "fault", "fault", "",         "",        "leaving", "",        "asked", ""}},
    {ready,      Sort::plain,        1970ms, {"",           "asked", "holding", "ready",      "waiting", "fault", "fault", "",         "",        "leaving", "",        "asked", ""}},
    {stuck,      Sort::plain,        0s,     {"",           "rest",  "",        "",           "waiting", "fault", "fault", "",         "",        "leaving", "",        "asked", ""}},
    {countdown,  Sort::plain,        5s,     {"waiting",    "",      "",        "asked",      "waiting", "fault", "fault", "",         "",        "leaving", "",        "asked", "rest"}},
    {asked,      Sort::unsent,       30s,    {"asked",      "",      "",        "refused",    "waiting", "fault", "fault", "asked",    "refused", "leaving", "refused", "",      "rest"}},
    {asked,      Sort::unsent_alarm, 30s,    {"asked",      "",      "",        "refused",    "",        "",      "",      "asked",    "refused", "leaving", "refused", "",      ""}},
    {asked,      Sort::plain,        30s,    {"asked",      "",      "",        "unanswered", "",        "",      "",      "asked",    "refused", "leaving", "refused", "",      ""}},
    {asked,      Sort::accepted,     30s,    {"asked",      "",      "",        "asked",      "",        "",      "",      "asked",    "refused", "leaving", "refused", "",      ""}},
    {asked,      Sort::taken_up,     5min,   {"asked",      "",      "",        "refused",    "",        "",      "",      "asked",    "refused", "leaving", "refused", "",      ""}},
    {unanswered, Sort::plain,        90s,    {"unanswered", "",      "",        "refused",    "",        "",      "",      "asked",    "refused", "leaving", "refused", "",      ""}},
    {leaving,    Sort::plain,        30s,    {"leaving",    "",      "",        "leaving",    "",        "",      "",      "",         "",        "",        "refused", "",      ""}},
    {leaving,    Sort::foreign,      30s,    {"leaving",    "",      "",        "leaving",    "",        "",      "",      "",         "",        "",        "rest",    "",      ""}},
    {leaving,    Sort::dry,          5s,     {"leaving",    "",      "",        "rest",       "",        "",      "",      "",         "",        "leaving", "rest",    "",      ""}},
    {refused,    Sort::plain,        5s,     {"holding",    "",      "holding", "rest",       "waiting", "fault", "fault", "",         "refused", "leaving", "",        "asked", ""}},
    {fault,      Sort::plain,        1s,     {"",           "",      "",        "fault",      "waiting", "",      "",      "",         "",        "leaving", "",        "asked", ""}},
    {refused,    Sort::unsent,       5s,     {"holding",    "",      "holding", "rest",       "waiting", "fault", "fault", "",         "refused", "leaving", "",        "asked", ""}},
}};

// clang-format on

Scene unsent(bool alarm) {
    Scene scene(State::rest);
    scene.shell.sends = false;
    if (alarm) {
        scene.alarm();
    } else {
        scene.hold(4s);
    }
    return scene;
}

Scene scene_of(const Row& row) {
    Scene scene(row.sort == Sort::unsent || row.sort == Sort::unsent_alarm
                    ? unsent(row.sort == Sort::unsent_alarm)
                : row.sort == Sort::foreign ? Scene(State::rest)
                : row.sort == Sort::plain   ? Scene(row.from)
                                            : Scene(State::asked));
    if (row.sort == Sort::accepted) {
        scene.answer(AnswerKind::accepted);
    } else if (row.sort == Sort::taken_up) {
        scene.answer(AnswerKind::taken_up);
    } else if (row.sort == Sort::dry) {
        scene.answer(AnswerKind::would_do);
    } else if (row.sort == Sort::foreign) {
        scene.going_down(true);
    } else if (row.sort == Sort::unsent && row.from == State::refused) {
        scene.pass(30s);
    }
    return scene;
}

bool is_pressed(const Scene& scene) {
    return scene.level == Level::active;
}

/// In the countdown a press that calls off is down 500 ms after the release; elsewhere
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

/// Answers are to the last request, or to one that never was.
void give_answer(Scene& scene, AnswerKind kind) {
    scene.give(Answer{scene.now, kind, scene.asks() > 0 ? scene.last_ask().number : 1});
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
    case resync:
        scene.resync();
        break;
    case vanish:
        scene.give(LineGone{scene.now});
        break;
    case unreadable:
        scene.storm();
        break;
    case reply_ok:
        give_answer(scene, AnswerKind::accepted);
        break;
    case reply_error:
        give_answer(scene, AnswerKind::refused);
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
    case call_off:
        scene.call_off();
        break;
    default:
        FAIL("no such column");
    }
}

bool asks_for_more(std::string_view from, std::string_view to) {
    return to == "asked" && from != "asked" && from != "unanswered";
}

std::string name_of(const Row& row) {
    const std::string_view sort = sort_names[static_cast<std::size_t>(row.sort)];
    return std::string(text_of(row.from)) + (sort.empty() ? "" : " (" + std::string(sort) + ")");
}

void check_cell(const Row& row, std::size_t column) {
    Scene scene = scene_of(row);
    const std::size_t notes = scene.shell.notes().size();
    const std::size_t asks = scene.asks();
    const std::string_view from = text_of(row.from);
    const std::string_view to = row.to[column].empty() ? from : row.to[column];
    INFO("from " << name_of(row) << " on " << column_names[column] << " to " << to);
    REQUIRE(text_of(scene.state()) == from);
    give(scene, column);
    INFO(text_of(scene.shell.notes()) << text_of(scene.shell.left()));
    CHECK(text_of(scene.state()) == to);
    CHECK(scene.asks() - asks == (asks_for_more(from, to) ? 1 : 0));
    CHECK(scene.count<Publish>() == 0);
    CHECK(scene.shell.notes().size() > notes);
    // What leaves asked without having been sent is withdrawn, and nothing else is.
    const bool unsent = row.sort == Sort::unsent || row.sort == Sort::unsent_alarm;
    const bool over = unsent && row.from == asked && to != from;
    const bool answered = column == reply_error;
    CHECK(scene.count<Withdraw>() ==
          ((over && !answered) || (row.sort == Sort::unsent && row.from == refused) ? 1 : 0));
    CHECK(scene.count<CalledOff>() == (column == call_off ? 1 : 0));
    if (column == call_off) {
        CHECK(scene.last<CalledOff>().done == !row.to[column].empty());
    }
}

}  // namespace

TEST_CASE("every cell of the state table leads where the table says", "[table]") {
    std::size_t cells = 0;
    for (const Row& row : table) {
        for (std::size_t column = 0; column < column_count; ++column) {
            if (column != deadline) {
                check_cell(row, column);
                ++cells;
            }
        }
    }
    CHECK(cells == table.size() * (column_count - 1));
}

TEST_CASE("every state has the deadline of the table, and none has another", "[table]") {
    for (const Row& row : table) {
        Scene scene = scene_of(row);
        INFO("from " << name_of(row));
        if (row.to[deadline].empty()) {
            CHECK(scene.shell.core().next_deadline() == never);
            continue;
        }
        scene.pass(row.due - 1ms);
        CHECK(scene.state() == row.from);
        const std::size_t notes = scene.shell.notes().size();
        const std::size_t left = scene.shell.left().size();
        scene.pass(1ms);
        INFO(text_of(scene.shell.notes()) << text_of(scene.shell.left()));
        CHECK(text_of(scene.state()) == row.to[deadline]);
        CHECK((scene.shell.notes().size() > notes || scene.shell.left().size() > left));
    }
}

TEST_CASE("every state shows its cue, and a request under way shows leaving", "[table]") {
    for (const Row& row : table) {
        const Scene scene = scene_of(row);
        const bool under_way = row.from == State::asked || row.from == State::unanswered;
        INFO(name_of(row));
        CHECK(text_of(scene.shell.core().cue().name) ==
              (under_way ? "leaving" : text_of(row.from)));
        CHECK(scene.shell.core().cue().state == row.from);
    }
}
