// SPDX-License-Identifier: MIT
// CallOff: who may, and what it does in every state.
#include "system/object/followed.hpp"

#include <functional>
#include <memory>
#include <vector>

#include <catch2/catch_test_macros.hpp>
#include <unistd.h>

using namespace nightlatch;
using namespace nightlatch::test;
using namespace std::chrono_literals;
using core::AnswerKind;
using core::State;
using testing::moves;
using testing::pontoon_settings;

namespace {

constexpr const char* access_denied = "org.freedesktop.DBus.Error.AccessDenied";

config::Settings with_grace() {
    config::Settings settings = pontoon_settings();
    settings.core.grace = 60s;
    settings.core.stuck_after = 30s;
    return settings;
}

Events one_hold(Duration at, Duration length) {
    return {moves(at, Level::active), moves(at + length, Level::inactive)};
}

/// A countdown that began at 4.2 s.
struct CountingDown : Followed {
    explicit CountingDown(Duration patience = 60s)
        : Followed(with_grace(), one_hold(1s, 3200ms), patience) {
        start();
        board.run_to(10s);
        REQUIRE(board.app.cue().state == State::countdown);
    }

    [[nodiscard]] bool counts_down() const { return board.app.cue().state == State::countdown; }
};

void need_root() {
    if (geteuid() != 0) {
        SKIP("connects as another account, which only root can");
    }
}

}  // namespace

TEST_CASE("root calls a countdown off, at once and without polkit, and the journal names it") {
    need_root();
    CountingDown board;
    Client root(board.loop->raw());
    CHECK(board.call_off(root).empty());
    CHECK_FALSE(board.counts_down());
    CHECK(board.board.power.asked.empty());
    CHECK(board.journal.count("uid 0 that called off (" + root.name() + " on the bus)") == 1);
    board.settle(root);
    CHECK(root.changes.back().cue == "rest");
}

TEST_CASE("whom polkit allows it may, and polkit is asked about the caller, never interactively") {
    need_root();
    CountingDown board;
    FakePolkit polkit(board.loop->raw(), {bus::call_off_action});
    polkit.asked_by_owner = true;
    Client client(board.loop->raw(), nobody);
    CHECK(board.call_off(client).empty());
    CHECK_FALSE(board.counts_down());
    CHECK(polkit.asked() == Strings{bus::call_off_action});
    CHECK(polkit.subjects() == Strings{client.name()});
    CHECK(board.journal.count("uid 65534 that called off (" + client.name()) == 1);
}

TEST_CASE("whom polkit does not allow it may not") {
    need_root();
    CountingDown board;
    FakePolkit polkit(board.loop->raw(), {"org.freedesktop.login1.power-off"});
    polkit.asked_by_owner = true;
    Client client(board.loop->raw(), nobody);
    CHECK(board.call_off(client) == access_denied);
    CHECK(client.texts.back().find("polkit does not allow it") != std::string::npos);
    CHECK(board.counts_down());
    CHECK(board.journal.count("called off") == 0);
}

TEST_CASE("without polkit only root may") {
    need_root();
    CountingDown board;
    Client client(board.loop->raw(), nobody);
    CHECK(board.call_off(client) == access_denied);
    CHECK(client.texts.back().find("only root may") != std::string::npos);
    CHECK(board.counts_down());
    Client root(board.loop->raw());
    CHECK(board.call_off(root).empty());
}

TEST_CASE("a polkit that does not answer is waited for two seconds, and the countdown is not") {
    need_root();
    CountingDown board(2s);
    FakePolkit polkit(board.loop->raw(), {bus::call_off_action});
    polkit.asked_by_owner = true;
    polkit.silent = true;
    Client client(board.loop->raw(), nobody);
    client.call_off();
    REQUIRE(board.await([&] { return !polkit.asked().empty(); }));
    board.board.run_to(70s);  // its end: nobody holds it up
    CHECK(board.board.power.asked.size() == 1);
    REQUIRE(board.await([&] { return !client.answers.empty(); }));
    CHECK(client.answers == Strings{access_denied});
    CHECK(client.texts.back().find("no answer in 2 s") != std::string::npos);
}

TEST_CASE("what is decided is what is under way when polkit has answered") {
    need_root();
    CountingDown board;
    auto polkit = std::make_unique<FakePolkit>(board.loop->raw(),
                                               std::set<std::string>{bus::call_off_action});
    polkit->asked_by_owner = true;
    Client client(board.loop->raw(), nobody);
    client.call_off();
    board.board.run_to(70s);  // before the bus has had a turn
    CHECK(board.board.power.asked.size() == 1);
    REQUIRE(board.await([&] { return !client.answers.empty(); }));
    CHECK(client.answers == Strings{bus::nothing_to_call_off});
}

TEST_CASE("eight callers at once are asked about, the ninth is turned away, and room comes back") {
    need_root();
    CountingDown board(2s);
    FakePolkit polkit(board.loop->raw(), {bus::call_off_action});
    polkit.asked_by_owner = true;
    polkit.silent = true;
    Client client(board.loop->raw(), nobody);
    for (std::size_t i = 0; i < bus::Gate::most_questions + 1; ++i) {
        client.call_off();
    }
    REQUIRE(board.await([&] { return !client.answers.empty(); }));
    CHECK(client.answers == Strings{"org.freedesktop.DBus.Error.LimitsExceeded"});
    REQUIRE(board.await(
        [&] { return client.answers.size() == bus::Gate::most_questions + 1; }));  // after 2 s
    CHECK(polkit.asked().size() <= bus::Gate::most_questions);
    CHECK(board.counts_down());
    polkit.silent = false;
    CHECK(board.call_off(client).empty());
}

TEST_CASE("callers whose bus went away are forgotten, and later ones get their own answer") {
    need_root();
    CountingDown board;
    Client client(board.loop->raw());
    client.call_off();
    board.bus.freeze();
    REQUIRE(board.loop->turn(0ms));
    board.bus.stop();
    REQUIRE(board.await([&] { return board.connection.get() == nullptr; }));
    CHECK(board.counts_down());
    board.bus.start();
    REQUIRE(board.await([&] { return board.connection.get() != nullptr; }));
    Client later(board.loop->raw());
    REQUIRE(board.await([&] {
        board.settle(later);
        return later.answers.back().empty();
    }));
    CHECK(board.call_off(later).empty());
    CHECK_FALSE(board.counts_down());
}

// One row a state: how the board gets there, and whether there is something to call off.
TEST_CASE("in every state CallOff prevents what it can, or says that there is nothing") {
    need_root();

    struct Case {
        State state;
        config::Settings settings;
        Events events;
        Duration at;
        std::function<void(testing::VirtualBoard&)> happens;
        bool done;
    };

    const auto nothing = [](testing::VirtualBoard&) {};
    const auto refused = [](testing::VirtualBoard& board) {
        board.answered(AnswerKind::refused, "not permitted");
    };
    const auto going = [](testing::VirtualBoard& board) {
        board.app.going_down(true, core::GoingDownKind::power_off);
    };
    const Events hold = one_hold(1s, 3200ms);
    const std::vector<Case> cases{
        {State::waiting, with_grace(), one_hold(10ms, 3s), 5ms, nothing, false},
        {State::rest, with_grace(), {}, 1s, nothing, false},
        {State::holding, with_grace(), hold, 2s, nothing, false},
        {State::ready, with_grace(), hold, 4100ms, nothing, false},
        {State::stuck, with_grace(), one_hold(1s, 50s), 40s, nothing, false},
        {State::countdown, with_grace(), hold, 5s, nothing, true},
        {State::asked, pontoon_settings(), hold, 5s, nothing, false},
        {State::unanswered, pontoon_settings(), hold, 40s, nothing, false},
        {State::leaving, pontoon_settings(), hold, 5s, going, false},
        {State::refused, pontoon_settings(), hold, 5s, refused, false},
        {State::fault, with_grace(), {{1s, rehearsal::ChipFault::vanish}}, 2s, nothing, false},
    };
    CHECK(cases.size() == core::state_count);
    for (const Case& one : cases) {
        INFO(core::text_of(one.state));
        Followed board(one.settings, one.events);
        board.start();
        board.board.run_to(one.at);
        one.happens(board.board);
        CHECK(board.board.app.cue().state == one.state);
        Client root(board.loop->raw());
        CHECK(board.call_off(root) == (one.done ? "" : bus::nothing_to_call_off));
        CHECK(board.board.app.cue().state == (one.done ? State::rest : one.state));
    }
}

TEST_CASE("a press's request that has not been sent is called off, and never sent") {
    need_root();
    Followed board(pontoon_settings(), one_hold(1s, 3200ms));
    board.start();
    board.board.bus_hangs = true;
    board.board.run_to(5s);
    CHECK(board.board.app.cue().state == State::asked);
    Client root(board.loop->raw());
    CHECK(board.call_off(root).empty());
    CHECK(board.board.app.cue().state == State::rest);
    CHECK(board.board.power.withdrawn == std::vector<std::uint32_t>{1});
    CHECK_FALSE(board.board.app.may_send(1));
}
