// SPDX-License-Identifier: MIT
#include "daemon/tool/client/once.hpp"

namespace nightlatch::tool {
namespace {

/// Ends the loop with the first thing that is told.
struct FirstOnly final : ServiceFollower {
    explicit FirstOnly(sys::EventLoop& its_loop) : loop(its_loop) {}

    void shown(const ServiceState& state) override {
        seen.state = state;
        loop.exit(0);
    }

    void announced(const std::string& /*name*/) override {}

    void absent(Absent why, const std::string& detail) override {
        seen.absent = why;
        seen.detail = detail;
        loop.exit(0);
    }

    sys::EventLoop& loop;
    SeenOnce seen;
};

}  // namespace

Result<SeenOnce> see_once() {
    auto loop = sys::EventLoop::open();
    if (!loop) {
        return Unexpected{loop.error()};
    }
    FirstOnly first(**loop);
    ServiceClient client(**loop, first);
    client.start();
    if (const Result<int> ran = (*loop)->run(); !ran) {
        return Unexpected{ran.error()};
    }
    first.seen.now = (*loop)->now();
    return std::move(first.seen);
}

}  // namespace nightlatch::tool
