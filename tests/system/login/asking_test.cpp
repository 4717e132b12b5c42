// SPDX-License-Identifier: MIT
// What becomes of a request. The fake runs in the same loop as the adapter, so a call that waited
// for its reply would hang every one of these.
#include "system/login/stage.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators.hpp>

using namespace nightlatch;
using namespace nightlatch::test;

using core::Action;
using core::Inhibitors;
using Strings = std::vector<std::string>;

namespace {

const FakeLock backup{
    "shutdown:sleep", "backup-agent", "copying the tide record", "block", 1000, 4242};

FakeManners of_version(int version) {
    FakeManners manners;
    manners.version = version;
    return manners;
}

}  // namespace

TEST_CASE("a power-off is asked for once, with the flag that makes even root heed locks") {
    Stage stage;
    stage.start_with(of_version(GENERATE(252, 257)));
    stage.ask(Action::power_off, Inhibitors::respect);
    CHECK(stage.listener.heard.empty());  // nothing from inside the call
    REQUIRE(stage.await_answer());
    stage.settle();
    CHECK(stage.listener.count("answered accepted") == 1);
    CHECK(stage.listener.answers == Strings{""});
    CHECK(stage.fake().requests() == Strings{"PowerOffWithFlags 1"});
    CHECK(stage.journal.lines.empty());
}

TEST_CASE("a reboot is asked for as a reboot") {
    Stage stage;
    stage.start_with({});
    stage.ask(Action::reboot, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered accepted"));
    stage.settle();
    CHECK(stage.fake().requests() == Strings{"RebootWithFlags 1"});
    CHECK(stage.listener.count("going_down true reboot") == 1);
}

TEST_CASE("the shutdown's signal comes before the reply, and both are told in that order") {
    Stage stage;
    stage.start_with({});
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_answer());
    stage.settle();
    CHECK(stage.listener.heard ==
          Strings{"sent 1", "going_down true power-off", "answered accepted", "resumed"});
}

TEST_CASE("a login manager without flags is asked the old way, without interaction") {
    Stage stage;
    stage.start_with(of_version(245));
    const bool reboot = GENERATE(false, true);
    const auto inhibitors = GENERATE(Inhibitors::respect, Inhibitors::override_them);
    stage.ask(reboot ? Action::reboot : Action::power_off, inhibitors);
    REQUIRE(stage.await_heard("answered accepted"));
    stage.settle();
    CHECK(stage.fake().requests() == Strings{reboot ? "Reboot false" : "PowerOff false"});
}

TEST_CASE("a refusal by policy names the rule file, and is told as one") {
    Stage stage;
    FakeManners manners = of_version(GENERATE(252, 257));
    manners.may_ask = false;
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered refused"));
    stage.settle();
    CHECK(says(stage.listener.answers.back(),
               {"not permitted",
                "no lock is held",
                "50-nightlatch.rules",
                "polkitd",
                "Interactive authentication required"}));
    CHECK(stage.fake().requests().size() == 1);
    CHECK(stage.journal.lines.empty());  // the listener tells it; once is enough
}

TEST_CASE("with a blocking lock nothing is asked, and its holder and text are shown") {
    Stage stage;
    FakeManners manners = of_version(GENERATE(252, 257, 258));
    manners.locks = {{"sleep", "player", "music", "block", 1, 1}, backup};
    manners.locks.back().mode = GENERATE("block", "block-weak");
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered refused"));
    stage.settle();
    const std::string& text = stage.listener.answers.back();
    CHECK(says(text, {"\"backup-agent\"", "uid 1000", "pid 4242", "\"copying the tide record\""}));
    CHECK_FALSE(says(text, {"player"}));
    CHECK(stage.listener.blockers.back() ==
          ports::Blocker{"backup-agent", "copying the tide record"});
    CHECK(stage.fake().requests().empty());
}

TEST_CASE("locks that only delay, or forbid something else, do not stop a request") {
    Stage stage;
    FakeManners manners;
    manners.locks = {{"sleep:idle", "player", "music", "block", 1, 1},
                     {"shutdown", "upgrader", "finishing", "delay", 0, 2},
                     {"handle-power-key", "desktop", "a menu", "block", 1000, 3}};
    auto& adapter = stage.start_with(manners);
    adapter.hold_delay(true);
    REQUIRE(stage.await([&] { return stage.fake().held_locks() == 1; }));
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered accepted"));
}

TEST_CASE("a lock taken between the look and the call is read from the list, whatever the error") {
    Stage stage;
    // 252 answers as if it were a matter of policy, 257 denies access, 258 has a name for it.
    FakeManners manners = of_version(GENERATE(252, 257, 258));
    manners.locks_taken_meanwhile = {backup};
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered refused"));
    stage.settle();
    const std::string& text = stage.listener.answers.back();
    CHECK(says(text, {"\"backup-agent\"", "uid 1000", "pid 4242", "\"copying the tide record\""}));
    CHECK_FALSE(says(text, {"50-nightlatch.rules"}));
    CHECK(stage.listener.blockers.back() ==
          ports::Blocker{"backup-agent", "copying the tide record"});
    CHECK(stage.fake().requests().size() == 1);
    CHECK_FALSE(stage.fake().manners.preparing);
}

TEST_CASE("a shutdown that begins, is called off and ends in an error is told in that order") {
    Stage stage;
    FakeManners manners;
    manners.outcome = FakeOutcome::cannot_start;
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_answer());
    CHECK(stage.listener.heard == Strings{"sent 1",
                                          "going_down true power-off",
                                          "going_down false power-off",
                                          "answered refused"});
    CHECK(says(stage.listener.answers.back(), {"Unit poweroff.target is masked"}));
}

TEST_CASE("somebody's shutdown that is under way already counts as accepted") {
    Stage stage;
    FakeManners manners;
    manners.preparing = true;
    stage.start_with(manners);
    stage.ask(Action::power_off, GENERATE(Inhibitors::respect, Inhibitors::override_them));
    REQUIRE(stage.await_answer());
    CHECK(stage.listener.heard == Strings{"sent 1", "answered accepted"});
    CHECK(says(stage.listener.answers.back(), {"a shutdown is under way already"}));
}

TEST_CASE("a sleep that is under way is a refusal that names it") {
    Stage stage;
    FakeManners manners;
    manners.outcome = FakeOutcome::in_progress;
    stage.start_with(manners);
    stage.ask(Action::power_off, GENERATE(Inhibitors::respect, Inhibitors::override_them));
    REQUIRE(stage.await_answer());
    CHECK(stage.listener.heard == Strings{"sent 1", "answered refused"});
    CHECK(says(stage.listener.answers.back(), {"sleep", "try again"}));
    CHECK(stage.fake().questions() == 1);
}

TEST_CASE("an operation under way that nobody names is a refusal that says so") {
    Stage stage;
    stage.options.explanation = 50ms;
    FakeManners manners;
    manners.outcome = FakeOutcome::in_progress;
    manners.telling = GENERATE(FakeTelling::fails, FakeTelling::keeps_silent);
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_answer());
    CHECK(stage.listener.heard == Strings{"sent 1", "answered refused"});
    CHECK(says(stage.listener.answers.back(), {"a shutdown or a sleep", "try again"}));
}

TEST_CASE("a manager that goes before it has said what is under way leaves a refusal") {
    Stage stage;
    FakeManners manners;
    manners.outcome = FakeOutcome::in_progress;
    manners.telling = FakeTelling::keeps_silent;
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return stage.fake().questions() == 1; }));
    stage.fake().release_name();
    REQUIRE(stage.await_answer());
    CHECK(says(stage.listener.answers.back(), {"a shutdown or a sleep"}));
    REQUIRE(stage.await_heard("login_manager false"));
}

TEST_CASE("what is over by the time that it could be sent is not sent, and not a word of it") {
    Stage stage;
    stage.start_with({});
    stage.listener.lets_send = false;
    stage.ask(Action::power_off, GENERATE(Inhibitors::respect, Inhibitors::override_them));
    REQUIRE(stage.await([&] { return !stage.listener.wanted_to_send.empty(); }));
    stage.settle();
    CHECK(stage.listener.heard == Strings{"resumed"});
    CHECK(stage.listener.wanted_to_send == std::vector<std::uint32_t>{1});
    CHECK(stage.fake().requests().empty());
    CHECK(stage.journal.lines.empty());
}

TEST_CASE("a request that is over between two ways of asking is not asked the second way") {
    Stage stage;
    stage.start_with(of_version(245));
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("sent 1"));
    stage.listener.lets_send = false;
    REQUIRE(stage.await([&] { return stage.listener.wanted_to_send.size() == 2; }));
    stage.settle();
    CHECK(stage.fake().requests().empty());
    CHECK(stage.listener.answers.empty());
}

TEST_CASE("a request that is withdrawn before it is sent is not sent") {
    Stage stage;
    FakeManners manners;
    manners.answers_lists = GENERATE(true, false);
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    if (!manners.answers_lists) {
        REQUIRE(stage.await([&] { return !stage.fake().calls().empty(); }));
    }
    stage.adapter().withdraw(1);
    stage.settle();
    CHECK(stage.listener.heard == Strings{"resumed"});
    CHECK(stage.listener.wanted_to_send.empty());
    CHECK(stage.fake().requests().empty());
}

TEST_CASE("to withdraw what was sent, or another one, takes nothing back") {
    Stage stage;
    FakeManners manners;
    manners.outcome = FakeOutcome::holds_answer;
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    stage.adapter().withdraw(7);
    REQUIRE(stage.await([&] { return stage.fake().holds_an_answer(); }));
    stage.adapter().withdraw(1);
    stage.fake().let_answer();
    REQUIRE(stage.await_heard("answered accepted"));
    CHECK(stage.listener.answered_to == std::vector<std::uint32_t>{1});
}

TEST_CASE("a late answer is told with its own number, whatever has been asked since") {
    Stage stage;
    FakeManners manners;
    manners.outcome = FakeOutcome::holds_answer;
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return stage.fake().holds_an_answer(); }));
    stage.fake().manners.preparing = false;
    stage.fake().manners.outcome = FakeOutcome::accepts;
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered accepted"));
    CHECK(stage.listener.answered_to == std::vector<std::uint32_t>{2});
    stage.fake().let_answer();
    REQUIRE(stage.await_heard("answered accepted", 2));
    CHECK(stage.listener.answered_to == std::vector<std::uint32_t>{2, 1});
}

TEST_CASE("of many requests without an answer the latest are listened to, and each is sent") {
    Stage stage;
    FakeManners manners;
    manners.outcome = FakeOutcome::keeps_silent;
    stage.start_with(manners);
    for (int i = 1; i <= 5; ++i) {
        stage.ask(Action::power_off, Inhibitors::respect);
        REQUIRE(stage.await_heard("sent " + std::to_string(i)));
    }
    REQUIRE(stage.await([&] { return stage.fake().requests().size() == 5; }));
    stage.fake().manners.outcome = FakeOutcome::accepts;
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered accepted"));
    CHECK(stage.listener.answered_to == std::vector<std::uint32_t>{6});
}

TEST_CASE("an answer is passed on however late it comes") {
    // A minute, shrunk where it can be shrunk honestly: sd-bus's own limit for a call, 25 s, is set
    // to 200 ms, and the answer comes after a call with that limit has demonstrably run out.
    setenv("SYSTEMD_BUS_TIMEOUT", "200ms", 1);
    Stage stage;
    FakeManners manners;
    manners.outcome = FakeOutcome::holds_answer;
    stage.start_with(manners);
    unsetenv("SYSTEMD_BUS_TIMEOUT");
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return stage.fake().holds_an_answer(); }));

    setenv("SYSTEMD_BUS_TIMEOUT", "200ms", 1);
    const bus::BusHandle control = connect_to_bus(stage.loop->raw());
    std::string ended;
    const auto take = [](sd_bus_message* reply, void* userdata, sd_bus_error*) {
        const sd_bus_error* error = sd_bus_message_get_error(reply);
        *static_cast<std::string*>(userdata) = error != nullptr ? error->name : "replied";
        return 0;
    };
    stage.fake().manners.answers_lists = false;
    REQUIRE(sd_bus_call_method_async(control.get(),
                                     nullptr,
                                     "org.freedesktop.login1",
                                     "/org/freedesktop/login1",
                                     "org.freedesktop.login1.Manager",
                                     "ListInhibitors",
                                     take,
                                     &ended,
                                     nullptr) >= 0);
    REQUIRE(stage.await([&] { return !ended.empty(); }));
    unsetenv("SYSTEMD_BUS_TIMEOUT");
    REQUIRE(ended == "org.freedesktop.DBus.Error.NoReply");  // "Method call timed out"

    CHECK(stage.listener.answers.empty());
    stage.fake().let_answer();
    REQUIRE(stage.await_heard("answered accepted"));
    CHECK(stage.fake().requests().size() == 1);
}

TEST_CASE("a login manager that hangs gets no second request and no second route") {
    Stage stage;
    stage.options.preparation = 1500ms;
    FakeManners manners;
    manners.outcome = GENERATE(FakeOutcome::keeps_silent, FakeOutcome::never_answers);
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return !stage.fake().requests().empty(); }));
    // The limit for the preparations has no hold on the request.
    const Instant end = stage.loop->now() + stage.options.preparation + 100ms;
    REQUIRE(stage.await([&] { return stage.loop->now() > end; }));
    stage.settle();
    CHECK(stage.listener.answers.empty());
    CHECK(stage.fake().requests() == Strings{"PowerOffWithFlags 1"});
    CHECK(access((stage.options.second_route_directory + "/poweroff-requested").c_str(), F_OK) !=
          0);
}

TEST_CASE("a list of locks that does not come is a certain refusal: nothing was asked") {
    Stage stage;
    stage.options.preparation = 100ms;
    FakeManners manners;
    manners.answers_lists = false;
    stage.start_with(manners);
    stage.ask(Action::power_off, GENERATE(Inhibitors::respect, Inhibitors::override_them));
    REQUIRE(stage.await_heard("answered refused"));
    stage.settle();
    CHECK(says(stage.listener.answers.back(), {"nothing was asked"}));
    CHECK(stage.fake().requests().empty());
    CHECK(access((stage.options.second_route_directory + "/poweroff-requested").c_str(), F_OK) !=
          0);
}

TEST_CASE("a list that does not come after a refusal does not hold the refusal back for ever") {
    Stage stage;
    stage.options.explanation = 100ms;
    FakeManners manners;
    manners.may_ask = false;
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await([&] { return !stage.fake().calls().empty(); }));
    stage.fake().manners.answers_lists = false;
    REQUIRE(stage.await_heard("answered refused"));
    CHECK(says(stage.listener.answers.back(), {"the list of locks cannot be read"}));
}

TEST_CASE("respect with an authorisation to pass locks is pointed out once, with the remedy") {
    Stage stage;
    FakeManners manners;
    manners.outcome = FakeOutcome::cannot_start;  // so that it can be asked again
    stage.start_with(manners);
    FakePolkit polkit(stage.loop->raw(), {"org.freedesktop.login1.power-off-ignore-inhibit"});
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_answer());
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_answer());
    CHECK(stage.fake().requests().size() == 2);
    CHECK(polkit.asked() == Strings(2, "org.freedesktop.login1.power-off-ignore-inhibit"));
    CHECK(stage.journal.count("nightlatch-override.rules") == 1);
    CHECK(stage.journal.lines.size() == 1);
}

TEST_CASE("where an alarm passes locks on purpose, nobody is told to remove the rule for it") {
    Stage stage;
    stage.options.passes_locks = [] { return true; };
    stage.start_with({});
    const FakePolkit polkit(stage.loop->raw(), {"org.freedesktop.login1.power-off-ignore-inhibit"});
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered accepted"));
    CHECK(polkit.asked().size() == 1);
    CHECK(stage.journal.lines.empty());
}

TEST_CASE("respect without that authorisation is as it should be: not a word") {
    Stage stage;
    stage.start_with({});
    const FakePolkit polkit(stage.loop->raw(), {"org.freedesktop.login1.power-off-ignore-inhibit"});
    stage.ask(Action::reboot, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered accepted"));
    CHECK(polkit.asked() == Strings{"org.freedesktop.login1.reboot-ignore-inhibit"});
    CHECK(stage.journal.lines.empty());
}

TEST_CASE("respect with the authorisation still heeds an older manager's locks, that would not") {
    Stage stage;
    FakeManners manners = of_version(252);
    manners.may_pass_locks = true;
    manners.locks = {backup};
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered refused"));
    stage.settle();
    CHECK(stage.fake().requests().empty());
}

TEST_CASE("root is not told that polkit lets it do everything: it always does") {
    Stage stage;
    stage.options.as_root = true;
    stage.start_with({});
    const FakePolkit polkit(stage.loop->raw(), {"org.freedesktop.login1.power-off-ignore-inhibit"});
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered accepted"));
    CHECK(polkit.asked().empty());
    CHECK(stage.fake().requests() == Strings{"PowerOffWithFlags 1"});
}

TEST_CASE("a polkit that hangs ends in a certain refusal") {
    Stage stage;
    stage.options.preparation = 100ms;
    stage.start_with({});
    FakePolkit polkit(stage.loop->raw(), {});
    polkit.silent = true;
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered refused"));
    stage.settle();
    CHECK(says(stage.listener.answers.back(), {"nothing was asked"}));
    CHECK(stage.fake().requests().empty());
}

TEST_CASE("override passes a lock where the second rule is installed, and says whose it was") {
    Stage stage;
    const int version = GENERATE(252, 257, 258);
    FakeManners manners = of_version(version);
    manners.may_pass_locks = true;
    manners.locks = {backup};
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::override_them);
    REQUIRE(stage.await_heard("answered accepted"));
    stage.settle();
    // An older one does not know the flag, says so, and is asked again in its own way.
    CHECK(stage.fake().requests() == (version < 257
                                          ? Strings{"PowerOffWithFlags 16", "PowerOffWithFlags 0"}
                                          : Strings{"PowerOffWithFlags 16"}));
    CHECK(stage.journal.count("\"backup-agent\" (uid 1000, pid 4242)") == 1);
    CHECK(stage.listener.count("going_down true " +
                               std::string(version < 255 ? "unknown" : "power-off")) == 1);
}

TEST_CASE("override without the second rule says exactly that") {
    Stage stage;
    FakeManners manners = of_version(GENERATE(252, 257, 258));
    manners.locks = {backup};
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::override_them);
    REQUIRE(stage.await_heard("answered refused"));
    stage.settle();
    CHECK(says(stage.listener.answers.back(),
               {"\"backup-agent\"",
                "\"copying the tide record\"",
                "/usr/share/nightlatch/nightlatch-override.rules",
                "/etc/polkit-1/rules.d/"}));
    CHECK_FALSE(stage.fake().manners.preparing);
}

TEST_CASE("override with the base rule missing is a matter of policy, not of locks") {
    Stage stage;
    FakeManners manners;
    manners.may_ask = false;
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::override_them);
    REQUIRE(stage.await_heard("answered refused"));
    CHECK(says(stage.listener.answers.back(), {"50-nightlatch.rules"}));
    CHECK_FALSE(says(stage.listener.answers.back(), {"override"}));
}

TEST_CASE("a dry run does everything but ask, and says that it would have") {
    Stage stage;
    stage.options.dry_run = true;
    auto& adapter = stage.start_with({});
    adapter.hold_delay(true);
    const Action action = GENERATE(Action::power_off, Action::reboot);
    stage.ask(action, GENERATE(Inhibitors::respect, Inhibitors::override_them));
    REQUIRE(stage.await_heard("answered would do"));
    stage.settle();
    CHECK(stage.listener.heard == Strings{"answered would do", "resumed"});
    CHECK(stage.listener.answers == Strings{""});
    CHECK(stage.journal.count("dry run: would have asked the login manager to ") == 1);
    CHECK(stage.journal.lines.size() == 1);
    CHECK(stage.fake().calls() ==
          Strings{"ListInhibitors", action == Action::reboot ? "CanReboot" : "CanPowerOff"});
    CHECK(stage.fake().held_locks() == 0);
}

TEST_CASE("a dry run finds a blocking lock as the real one would") {
    Stage stage;
    stage.options.dry_run = true;
    FakeManners manners;
    manners.locks = {backup};
    stage.start_with(manners);
    stage.ask(Action::power_off, Inhibitors::respect);
    REQUIRE(stage.await_heard("answered refused"));
    CHECK(says(stage.listener.answers.back(), {"a real run would be refused: ", "backup-agent"}));
    CHECK(stage.listener.blockers.back() ==
          ports::Blocker{"backup-agent", "copying the tide record"});
    CHECK(stage.journal.lines.empty());
}

TEST_CASE("a dry run finds that policy forbids it as the real one would") {
    Stage stage;
    stage.options.dry_run = true;
    FakeManners manners = of_version(GENERATE(252, 257));
    manners.may_ask = false;
    stage.start_with(manners);
    stage.ask(Action::power_off, GENERATE(Inhibitors::respect, Inhibitors::override_them));
    REQUIRE(stage.await_heard("answered refused"));
    CHECK(says(stage.listener.answers.back(),
               {"a real run would be refused: ", "not permitted", "50-nightlatch.rules"}));
    CHECK_FALSE(stage.listener.blockers.back());
    CHECK(stage.journal.lines.empty());
}

TEST_CASE("a dry run passes a lock exactly where the second rule is installed") {
    Stage stage;
    stage.options.dry_run = true;
    FakeManners manners = of_version(GENERATE(252, 257));
    manners.locks = {backup};
    manners.may_pass_locks = GENERATE(true, false);
    stage.start_with(manners);
    const FakePolkit polkit(
        stage.loop->raw(),
        manners.may_pass_locks
            ? std::set<std::string>{"org.freedesktop.login1.power-off-ignore-inhibit"}
            : std::set<std::string>{});
    stage.ask(Action::power_off, Inhibitors::override_them);
    REQUIRE(stage.await_answer());
    if (manners.may_pass_locks) {
        CHECK(stage.listener.heard == Strings{"answered would do"});
    } else {
        CHECK(stage.listener.heard == Strings{"answered refused"});
        CHECK(says(stage.listener.answers.back(), {"a real run", "nightlatch-override.rules"}));
    }
    CHECK(stage.fake().requests().empty());
}
