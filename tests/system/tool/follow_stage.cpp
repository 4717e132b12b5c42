// SPDX-License-Identifier: MIT
#include "follow_stage.hpp"

#include <chrono>
#include <cstdlib>

namespace nightlatch::test {
namespace {

using namespace std::chrono_literals;

constexpr Duration patience = 60s;

std::unique_ptr<sys::EventLoop> open_loop() {
    auto loop = sys::EventLoop::open();
    NIGHTLATCH_ENSURE(loop.has_value());
    return std::move(*loop);
}

}  // namespace

FollowStage::FollowStage() : loop_(open_loop()) {}

FollowStage& FollowStage::start_bus() {
    bus_.start();
    return *this;
}

FakeService& FollowStage::start_service(const FakeShown& shown) {
    service_ = std::make_unique<FakeService>(loop_->raw(), shown);
    return *service_;
}

std::unique_ptr<Process> FollowStage::tool(std::vector<std::string> words, const std::string& out) {
    words.insert(words.begin(), NIGHTLATCH);
    return std::make_unique<Process>(std::move(words), desk_.path(out));
}

bool FollowStage::await(const std::function<bool()>& so) const {
    const Instant limit = loop_->now() + patience;
    while (!so()) {
        if (loop_->now() > limit || !loop_->turn(5ms)) {
            return false;
        }
    }
    return true;
}

std::optional<int> FollowStage::ended(Process& process) const {
    return await([&process] { return process.ended().has_value(); }) ? process.ended()
                                                                     : std::nullopt;
}

}  // namespace nightlatch::test
