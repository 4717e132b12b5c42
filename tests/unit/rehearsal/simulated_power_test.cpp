// SPDX-License-Identifier: MIT
// The other side of the port, that a rehearsal asks.
#include "rehearsal/simulated_power.hpp"
#include "support/virtual_board.hpp"

#include <string>
#include <vector>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::rehearsal;
using namespace std::chrono_literals;
using core::Action;
using core::Inhibitors;
using Strings = std::vector<std::string>;

namespace {

struct Listener final : ports::PowerListener {
    Strings heard;
    bool lets_send = true;

    bool may_send(std::uint32_t request) override {
        heard.push_back("may send " + std::to_string(request));
        return lets_send;
    }

    void answered(std::uint32_t request, core::AnswerKind kind, const ports::Said& said) override {
        constexpr const char* words[] = {
            "sent ", "accepted ", "taken up ", "refused ", "would do "};
        heard.push_back(words[static_cast<std::size_t>(kind)] + std::to_string(request) +
                        (said.text.empty() ? "" : " " + said.text));
    }

    void going_down(bool active, core::GoingDownKind kind) override {
        heard.push_back(std::string(active ? "going down" : "not going down") +
                        (kind == core::GoingDownKind::reboot ? ", a reboot" : ""));
    }

    void preparing(std::uint32_t question, core::BeingPrepared told) override {
        constexpr const char* words[] = {" yes", " no", " cannot tell"};
        heard.push_back("preparing " + std::to_string(question) +
                        words[static_cast<std::size_t>(told)]);
    }

    void login_manager(bool present) override { heard.emplace_back(present ? "there" : "gone"); }

    void resumed() override { heard.emplace_back("resumed"); }
};

struct Played {
    testing::VirtualClock clock;
    Listener listener;
    SimulatedPower power{clock, listener, {}};

    /// What is heard in so long.
    Strings after(Duration length) {
        const Instant end = clock.time + length;
        listener.heard.clear();
        while (power.next_due() <= end) {
            clock.time = std::max(clock.time, power.next_due());
            power.play();
        }
        clock.time = end;
        return listener.heard;
    }
};

}  // namespace

TEST_CASE("a simulated request is sent, accepted and carried out, with its number") {
    Played played;
    played.power.ask(7, Action::reboot, Inhibitors::respect);
    CHECK(played.listener.heard.empty());  // nothing from inside the call
    CHECK(played.after(0s) == Strings{"may send 7", "sent 7"});
    CHECK(played.after(1s) == Strings{"accepted 7", "going down, a reboot"});
    played.power.ask_preparing(3);
    CHECK(played.listener.heard.size() == 2);
    CHECK(played.after(0s) == Strings{"preparing 3 yes"});
}

TEST_CASE("a simulated request that is over, or withdrawn, is not sent") {
    Played played;
    played.power.ask(1, Action::power_off, Inhibitors::respect);
    played.power.withdraw(2);
    played.power.withdraw(1);
    CHECK(played.after(1s).empty());
    played.listener.lets_send = false;
    played.power.ask(2, Action::power_off, Inhibitors::respect);
    CHECK(played.after(1s) == Strings{"may send 2"});
}

TEST_CASE("a later simulated request ends an earlier one that was not sent") {
    Played played;
    played.power.take(LoginAnswers{"not now", 20ms, AnswerWord::refuse});
    played.power.ask(1, Action::power_off, Inhibitors::respect);
    played.power.ask(2, Action::power_off, Inhibitors::respect);
    CHECK(played.after(1s) == Strings{"may send 2", "sent 2", "refused 2 not now"});
}

TEST_CASE("the answer to an earlier simulated request comes with its own number") {
    Played played;
    played.power.take(LoginAnswers{"too late", 1min, AnswerWord::refuse});
    played.power.ask(1, Action::power_off, Inhibitors::respect);
    CHECK(played.after(0s) == Strings{"may send 1", "sent 1"});
    played.power.take(LoginAnswers{"", 20ms, AnswerWord::none});
    played.power.ask(2, Action::power_off, Inhibitors::respect);
    CHECK(played.after(1s) == Strings{"may send 2", "sent 2"});
    CHECK(played.after(1min) == Strings{"refused 1 too late"});
}

TEST_CASE("without a simulated login manager the second route takes a request up") {
    Played played;
    played.power.take(LoginDoes::vanish);
    CHECK(played.after(0s) == Strings{"gone"});
    played.power.ask(1, Action::power_off, Inhibitors::respect);
    played.power.ask_preparing(1);
    played.power.ask_preparing(2);
    CHECK(played.after(1s) ==
          Strings{
              "may send 1", "sent 1", "preparing 2 cannot tell", "taken up 1 by the second route"});
}

TEST_CASE("a simulated login manager that vanishes takes its answer along") {
    Played played;
    played.power.ask(1, Action::power_off, Inhibitors::respect);
    CHECK(played.after(0s) == Strings{"may send 1", "sent 1"});
    played.power.take(LoginDoes::vanish);
    CHECK(played.after(1min) == Strings{"gone"});
    played.power.take(LoginDoes::comes_back);
    played.power.ask_preparing(1);
    CHECK(played.after(0s) == Strings{"there", "preparing 1 no"});
}

TEST_CASE("what the service had asked dies with it") {
    Played played;
    played.power.ask(1, Action::power_off, Inhibitors::respect);
    played.power.ask_preparing(1);
    played.power.greet();
    CHECK(played.after(1min) == Strings{"there"});
}
