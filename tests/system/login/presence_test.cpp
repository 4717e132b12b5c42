// SPDX-License-Identifier: MIT
// The login manager comes, goes, and announces shutdowns; the delay lock follows it.
#include "system/login/stage.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators.hpp>

using namespace nightlatch;
using namespace nightlatch::test;

using core::Action;
using core::Inhibitors;
using Strings = std::vector<std::string>;

TEST_CASE("a login manager that is absent at start and comes later is noticed and can be asked") {
    Stage stage;
    stage.bus.start();
    stage.start().hold_delay(true);
    // The adapter is on the bus once the bus lists it; from there it hears of names.
    stage.manager();
    REQUIRE(stage.await_heard("login_manager true"));
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 1; }));
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered accepted"));
    CHECK(stage.journal.lines.empty());
}

TEST_CASE("a shutdown that is under way at start is told to who asks") {
    Stage stage;
    FakeManners manners;
    manners.preparing = true;
    stage.start_with(manners);
    stage.settle();
    CHECK(stage.fake().questions() == 0);  // nobody asks by itself
    stage.adapter().ask_preparing(7);
    CHECK(stage.listener.heard == Strings{"resumed"});  // nothing from inside the call
    REQUIRE(stage.await_heard("preparing 7 yes"));
    // Its end is told, its beginning is not told again.
    stage.fake().prepare_for_shutdown(true);
    stage.fake().prepare_for_shutdown(false);
    REQUIRE(stage.await_heard("going_down false unknown"));
    stage.settle();
    CHECK(stage.listener.heard ==
          Strings{"resumed", "preparing 7 yes", "going_down false unknown", "resumed"});
}

TEST_CASE("a shutdown that nobody asked for is given up: that is told, with metadata or without") {
    Stage stage;
    FakeManners manners;
    manners.version = GENERATE(252, 257);
    manners.preparing = true;
    stage.start_with(manners);
    stage.fake().prepare_for_shutdown(false);
    stage.settle();
    CHECK(stage.listener.count("going_down false unknown") == 1);
    stage.adapter().ask_preparing(1);
    REQUIRE(stage.await_heard("preparing 1 no"));
    stage.fake().prepare_for_shutdown(true, "reboot");
    stage.settle();
    CHECK(stage.listener.count(manners.version >= 255 ? "going_down true reboot"
                                                      : "going_down true unknown") == 1);
    CHECK(stage.listener.heard.size() == 5);
}

TEST_CASE("whether a shutdown is being prepared cannot be told without somebody to ask") {
    Stage stage;
    const bool with_bus = GENERATE(false, true);
    if (with_bus) {
        stage.bus.start();
    }
    stage.start();
    if (with_bus) {
        REQUIRE(stage.await([&] { return stage.connection().get() != nullptr; }));
    }
    stage.adapter().ask_preparing(1);
    stage.adapter().ask_preparing(2);  // which ends the first
    CHECK(stage.listener.heard.empty());
    REQUIRE(stage.await_heard("preparing 2 cannot tell"));
    CHECK(stage.listener.heard.size() == 1);
}

TEST_CASE("a manager that answers with an error, or goes, cannot tell") {
    Stage stage;
    FakeManners manners;
    const bool goes = GENERATE(false, true);
    manners.telling = goes ? FakeTelling::keeps_silent : FakeTelling::fails;
    stage.start_with(manners);
    stage.adapter().ask_preparing(3);
    REQUIRE(stage.await([&] { return stage.fake().questions() == 1; }));
    if (goes) {
        stage.fake().release_name();
    }
    REQUIRE(stage.await_heard("preparing 3 cannot tell"));
}

TEST_CASE("a later question ends an earlier one") {
    Stage stage;
    stage.start_with({});
    stage.adapter().ask_preparing(1);
    stage.adapter().ask_preparing(2);
    REQUIRE(stage.await_heard("preparing 2 no"));
    stage.settle();
    CHECK(stage.listener.heard == Strings{"preparing 2 no", "resumed"});
}

TEST_CASE("a new owner of the name is told as one that went and one that came") {
    Stage stage;
    stage.start_with({});
    stage.fake().release_name();
    REQUIRE(stage.await_heard("login_manager false"));
    const FakeLogin1 successor(stage.loop->raw(), {});
    REQUIRE(stage.await_heard("login_manager true"));
    CHECK(stage.listener.heard == Strings{"login_manager false", "login_manager true"});
}

TEST_CASE("a shutdown's kind is told where the manager tells it, once per change") {
    struct Case {
        int version;
        const char* type;
        const char* told;
    };

    const auto [version, type, told] = GENERATE(Case{257, "power-off", "power-off"},
                                                Case{257, "reboot", "reboot"},
                                                Case{257, "kexec", "reboot"},
                                                Case{257, "soft-reboot", "reboot"},
                                                Case{257, "halt", "unknown"},
                                                Case{255, "something new", "unknown"},
                                                Case{252, "power-off", "unknown"});
    Stage stage;
    FakeManners manners;
    manners.version = version;
    stage.start_with(manners);
    stage.fake().prepare_for_shutdown(true, type);
    stage.fake().prepare_for_shutdown(false, type);
    stage.settle();
    CHECK(stage.listener.heard == Strings{std::string("going_down true ") + told,
                                          std::string("going_down false ") + told,
                                          "resumed"});
}

TEST_CASE("only waking up is told, not going to sleep") {
    Stage stage;
    stage.start_with({});
    stage.fake().prepare_for_sleep(true);
    stage.settle();  // which wakes up
    CHECK(stage.listener.heard == Strings{"resumed"});
}

TEST_CASE("what another program sends in the login manager's name is not heard") {
    Stage stage;
    stage.start_with({});
    const bus::BusHandle stranger = connect_to_bus(stage.loop->raw());
    // Straight to the adapter's connection: the bus lets signals through to anyone.
    Strings names;
    const auto take = [](sd_bus_message* reply, void* userdata, sd_bus_error*) {
        const char* name = nullptr;
        sd_bus_message_enter_container(reply, 'a', "s");
        while (sd_bus_message_read(reply, "s", &name) > 0) {
            if (name[0] == ':') {
                static_cast<Strings*>(userdata)->emplace_back(name);
            }
        }
        return 0;
    };
    REQUIRE(sd_bus_call_method_async(stranger.get(),
                                     nullptr,
                                     "org.freedesktop.DBus",
                                     "/org/freedesktop/DBus",
                                     "org.freedesktop.DBus",
                                     "ListNames",
                                     take,
                                     &names,
                                     nullptr) >= 0);
    REQUIRE(stage.await([&] { return !names.empty(); }));
    REQUIRE(names.size() == 3);  // adapter, fake and stranger
    for (const std::string& name : names) {
        for (const char* member : {"PrepareForShutdown", "PrepareForSleep"}) {
            sd_bus_message* made = nullptr;
            REQUIRE(sd_bus_message_new_signal(stranger.get(),
                                              &made,
                                              "/org/freedesktop/login1",
                                              "org.freedesktop.login1.Manager",
                                              member) >= 0);
            const bus::MessageHandle signal{made};
            const int active = std::string_view(member) == "PrepareForShutdown" ? 1 : 0;
            REQUIRE(sd_bus_message_append(made, "b", active) >= 0);
            REQUIRE(sd_bus_message_set_destination(made, name.c_str()) >= 0);
            REQUIRE(sd_bus_send(stranger.get(), made, nullptr) >= 0);
        }
    }
    stage.settle();
    stage.settle();
    CHECK(stage.listener.heard == Strings(2, "resumed"));  // the two of settle()
}

TEST_CASE("a manager that vanishes over a request and returns idle has dropped it") {
    Stage stage;
    FakeManners manners;
    manners.outcome = FakeOutcome::keeps_silent;
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return !stage.fake().requests().empty(); }));
    stage.manager_vanishes();
    REQUIRE(stage.await_heard("login_manager false"));
    stage.manager();
    REQUIRE(stage.await_heard("login_manager true"));
    stage.settle();
    // Losing the connection is not a refusal; what it means is the listener's to decide.
    CHECK(stage.listener.heard ==
          Strings{"sent 1", "login_manager false", "login_manager true", "resumed"});
    CHECK(stage.fake().requests().empty());  // and nothing is asked again by itself
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered accepted"));
}

TEST_CASE("a manager that vanishes over a request and returns preparing is carrying it out") {
    Stage stage;
    FakeManners manners;
    manners.outcome = FakeOutcome::never_answers;
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("going_down true power-off"));
    stage.manager_vanishes();
    REQUIRE(stage.await_heard("login_manager false"));
    manners.preparing = true;
    stage.manager(manners);
    REQUIRE(stage.await_heard("login_manager true"));
    stage.adapter().ask_preparing(1);
    REQUIRE(stage.await_heard("preparing 1 yes"));
    CHECK(stage.listener.answers.empty());
}

TEST_CASE("an answer of a manager that has been replaced is still the request's") {
    Stage stage;
    FakeManners manners;
    manners.outcome = FakeOutcome::holds_answer;
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return stage.fake().holds_an_answer(); }));
    stage.fake().release_name();  // stays connected: the call gets no error from the bus
    REQUIRE(stage.await_heard("login_manager false"));
    const FakeLogin1 successor(stage.loop->raw(), {});
    REQUIRE(stage.await_heard("login_manager true"));
    CHECK(stage.listener.answers.empty());
    stage.fake().let_answer();
    REQUIRE(stage.await_heard("answered accepted"));
    CHECK(stage.listener.answered_to == std::vector<std::uint32_t>{1});
    CHECK(successor.requests().empty());
}

TEST_CASE("a manager that goes before it was asked has certainly not been asked") {
    Stage stage;
    FakeManners manners;
    manners.answers_lists = false;
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return stage.fake().calls().size() == 1; }));
    const bool says_goodbye = GENERATE(false, true);
    if (says_goodbye) {
        stage.fake().release_name();
    } else {
        stage.manager_vanishes();
    }
    REQUIRE(stage.await_heard("login_manager false"));
    CHECK(stage.listener.heard == Strings{"answered refused", "login_manager false"});
    CHECK(says(stage.listener.answers.back(), {"nothing was asked"}));
}

TEST_CASE("the delay lock is taken, let go, and taken again") {
    Stage stage;
    auto& adapter = stage.start_with({});
    for (int i = 0; i < 2; ++i) {
        adapter.hold_delay(true);
        adapter.hold_delay(true);
        REQUIRE(stage.await([&] { return stage.fake().held_locks() == 1; }));
        stage.settle();
        CHECK(stage.fake().held_locks() == 1);
        adapter.hold_delay(false);
        REQUIRE(stage.await([&] { return stage.fake().held_locks() == 0; }));
    }
    CHECK(stage.fake().calls() == Strings(2, "Inhibit shutdown delay"));
}

TEST_CASE("a delay lock that comes after it was let go is not kept") {
    Stage stage;
    auto& adapter = stage.start_with({});
    adapter.hold_delay(true);
    adapter.hold_delay(false);  // its answer is still on the way
    REQUIRE(stage.await([&] { return stage.fake().calls().size() == 1; }));
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 0; }));
}

TEST_CASE("a new manager is given the delay lock anew, the old one's is closed") {
    Stage stage;
    auto& adapter = stage.start_with({});
    adapter.hold_delay(true);
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 1; }));
    stage.fake().release_name();
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 0; }));
    const FakeLogin1 successor(stage.loop->raw(), {});
    REQUIRE(stage.await([&] { return successor.held_locks() == 1; }));
    REQUIRE(stage.await_heard("login_manager true"));
}

TEST_CASE("the delay lock is let go from within the announcement, and taken when called off") {
    Stage stage;
    auto& adapter = stage.start_with({});
    stage.listener.when_going_down = [&adapter](bool active) { adapter.hold_delay(!active); };
    adapter.hold_delay(true);
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 1; }));
    stage.fake().prepare_for_shutdown(true, "power-off");
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 0; }));
    stage.fake().prepare_for_shutdown(false, "power-off");
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 1; }));
}

TEST_CASE("a delay lock refused because a shutdown runs is taken once that is called off") {
    Stage stage;
    FakeManners manners;
    manners.preparing = true;
    auto& adapter = stage.start_with(manners);
    adapter.hold_delay(true);
    REQUIRE(stage.await([&] { return stage.fake().calls().size() == 1; }));
    stage.settle();
    CHECK(stage.journal.lines.empty());
    stage.fake().prepare_for_shutdown(false);
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 1; }));
}

TEST_CASE("a delay lock that was refused is asked for until it is had, and told once") {
    Stage stage;
    stage.options.lock_pause = 20ms;
    FakeManners manners;
    manners.may_delay = false;
    auto& adapter = stage.start_with(manners);
    adapter.hold_delay(true);
    REQUIRE(stage.await([&] { return stage.fake().calls().size() == 3; }));
    stage.fake().manners.may_delay = true;
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 1; }));
    CHECK(stage.journal.lines.size() == 1);
}

TEST_CASE("a delay lock that was refused is asked for no more when nobody wants it") {
    Stage stage;
    stage.options.lock_pause = 20ms;
    FakeManners manners;
    manners.may_delay = false;
    auto& adapter = stage.start_with(manners);
    adapter.hold_delay(true);
    REQUIRE(stage.await([&] { return stage.journal.lines.size() == 1; }));
    adapter.hold_delay(false);
    const std::size_t asked = stage.fake().calls().size();
    const Instant end = stage.loop->now() + 10 * stage.options.lock_pause;
    REQUIRE(stage.await([&] { return stage.loop->now() > end; }));
    CHECK(stage.fake().calls().size() == asked);
}

TEST_CASE("a new manager is asked for the delay lock at once that the old one refused") {
    Stage stage;
    stage.options.lock_pause = 1h;
    FakeManners manners;
    manners.may_delay = false;
    auto& adapter = stage.start_with(manners);
    adapter.hold_delay(true);
    REQUIRE(stage.await([&] { return stage.journal.lines.size() == 1; }));
    stage.fake().release_name();
    const FakeLogin1 successor(stage.loop->raw(), {});
    REQUIRE(stage.await([&] { return successor.held_locks() == 1; }));
}

TEST_CASE("a delay lock refused by policy is told once, with the rule file") {
    Stage stage;
    FakeManners manners;
    manners.may_delay = false;
    auto& adapter = stage.start_with(manners);
    for (int i = 1; i <= 2; ++i) {
        adapter.hold_delay(true);
        REQUIRE(stage.await(
            [&] { return stage.fake().calls().size() == static_cast<std::size_t>(i); }));
        stage.settle();
        adapter.hold_delay(false);
    }
    CHECK(stage.journal.count("50-nightlatch.rules") == 1);
    CHECK(stage.journal.lines.size() == 1);
}
