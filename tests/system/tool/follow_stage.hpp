// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/sys/event_loop.hpp"
#include "desk.hpp"
#include "support/fake_service.hpp"
#include "system/login/private_bus.hpp"
#include "system/service/process.hpp"

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::test {

/// A bus of its own with a stand-in service on it, and the tool as a process beside them.
class FollowStage {
public:
    FollowStage();

    FollowStage& start_bus();
    FakeService& start_service(const FakeShown& shown = {});

    /// Its name goes with its connection, as when the service ends.
    void end_service() { service_.reset(); }

    [[nodiscard]] FakeService& service() const { return *service_; }

    [[nodiscard]] PrivateBus& bus() { return bus_; }

    [[nodiscard]] const Desk& desk() const { return desk_; }

    /// Runs `nightlatch` with these words; what it says is in a file of that name.
    std::unique_ptr<Process> tool(std::vector<std::string> words, const std::string& out = "out");

    /// Turns the loop until it is so; false: it is not, after a patience that nothing needs.
    [[nodiscard]] bool await(const std::function<bool()>& so) const;

    /// Runs the tool to its end; its exit status.
    [[nodiscard]] std::optional<int> ended(Process& process) const;

    [[nodiscard]] sys::EventLoop& loop() const { return *loop_; }

private:
    Desk desk_;
    PrivateBus bus_;
    std::unique_ptr<sys::EventLoop> loop_;
    std::unique_ptr<FakeService> service_;
};

}  // namespace nightlatch::test
