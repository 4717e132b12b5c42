// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/bus/sd_bus.hpp"
#include "daemon/login/login_manager.hpp"
#include "support/fake_login1.hpp"
#include "system/login/private_bus.hpp"

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::test {

using namespace std::chrono_literals;

/// What the adapter told its listener, one line each: "sent 1", "answered accepted",
/// "going_down true reboot", "login_manager true", "preparing 1 yes", "resumed".
struct RecordingListener final : ports::PowerListener {
    std::vector<std::string> heard;
    std::vector<std::string> answers;  ///< the texts, but of "sent"
    std::vector<std::optional<ports::Blocker>> blockers;
    std::vector<std::uint32_t> answered_to;  ///< the requests that those are of
    std::vector<std::uint32_t> wanted_to_send;
    bool lets_send = true;
    std::function<void(bool)> when_going_down;

    bool may_send(std::uint32_t request) override;
    void answered(std::uint32_t request, core::AnswerKind kind, const ports::Said& said) override;
    void going_down(bool active, core::GoingDownKind kind) override;
    void preparing(std::uint32_t question, core::BeingPrepared told) override;
    void login_manager(bool present) override;
    void resumed() override;

    [[nodiscard]] std::size_t count(const std::string& line) const;
};

struct RecordingJournal final : ports::Journal {
    std::vector<std::string> lines;

    using ports::Journal::say;

    [[nodiscard]] bool wants(ports::Priority /*priority*/) const noexcept override { return true; }

    void say(ports::Priority priority,
             ports::Message message,
             const std::string& text,
             std::span<const ports::Field> fields) override;

    /// How many lines hold this text.
    [[nodiscard]] std::size_t count(const std::string& text) const;
};

/// A bus of its own, the loop, and the adapter before its listener and journal.
class Stage {
public:
    Stage();
    ~Stage();
    Stage(const Stage&) = delete;
    Stage& operator=(const Stage&) = delete;

    PrivateBus bus;
    std::unique_ptr<sys::EventLoop> loop;
    RecordingListener listener;
    RecordingJournal journal;
    std::vector<bus::BusUser*> others;  ///< of the connection, beside the adapter; for start()
    login::Options options;  ///< for start(); not root, second route in the stage's own directory

    /// A login manager on the bus.
    FakeLogin1& manager(FakeManners manners = {});

    void manager_vanishes() { fake_.reset(); }

    /// Makes the adapter and starts it.
    login::LoginManager& start();
    /// Bus, login manager and adapter, and waits until they know each other.
    login::LoginManager& start_with(FakeManners manners);

    /// The service ends: the adapter is gone.
    void stop() {
        adapter_.reset();
        connection_.reset();
    }

    FakeLogin1& fake() { return *fake_; }

    login::LoginManager& adapter() { return *adapter_; }

    /// The next request, numbered from 1.
    void ask(core::Action action, core::Inhibitors inhibitors) {
        adapter_->ask(++asked_, action, inhibitors);
    }

    /// The connection that the adapter uses.
    bus::Bus& connection() { return *connection_; }

    /// Turns the loop until it is so; false when it has not become so for a long time.
    bool await(const std::function<bool()>& is_so);
    bool await_heard(const std::string& line, std::size_t times = 1);
    bool await_answer();

    /// All that was on its way through the bus has arrived: a few round trips between the fake and
    /// a third connection, after the adapter has heard a signal.
    void settle();

    /// Asks `destination` from a third connection.
    std::string ask_bus(const std::string& destination, const char* interface, const char* member);

private:
    std::unique_ptr<FakeLogin1> fake_;
    std::unique_ptr<bus::Bus> connection_;
    std::unique_ptr<login::LoginManager> adapter_;
    bus::BusHandle third_;
    std::uint32_t asked_ = 0;
};

/// The last answer's text holds all of them.
bool says(const std::string& text, const std::vector<std::string>& parts);

}  // namespace nightlatch::test
