// SPDX-License-Identifier: MIT
#include "daemon/sys/notify.hpp"
#include "notify_socket.hpp"

#include <catch2/catch_test_macros.hpp>

namespace nightlatch::sys {
namespace {

TEST_CASE("the service manager hears of ready, status, reload and stop", "[notify]") {
    const test::NotifySocket manager;
    const test::Environment socket{"NOTIFY_SOCKET", manager.address()};

    CHECK(notify_ready("watching FRONT_BUTTON"));
    CHECK(manager.receive() == "READY=1\nSTATUS=watching FRONT_BUTTON");

    notify_status("fault: no such chip");
    CHECK(manager.receive() == "STATUS=fault: no such chip");

    notify_reloading(Instant{std::chrono::nanoseconds{1'234'567'891}});
    CHECK(manager.receive() == "RELOADING=1\nMONOTONIC_USEC=1234567");

    notify_stopping("going down");
    CHECK(manager.receive() == "STOPPING=1\nSTATUS=going down");
}

TEST_CASE("a service manager that does not read is not waited for; READY can be said again",
          "[notify]") {
    const test::NotifySocket manager;
    const test::Environment socket{"NOTIFY_SOCKET", manager.address()};
    int taken = 0;
    while (taken < 100'000 && notify_ready("rest")) {
        ++taken;
    }
    REQUIRE(taken < 100'000);
    notify_status("dropped");
    for (int i = 0; i < taken; ++i) {
        CHECK(manager.receive() == "READY=1\nSTATUS=rest");
    }
    CHECK(notify_ready("again"));
    CHECK(manager.receive() == "READY=1\nSTATUS=again");
}

TEST_CASE("without a service manager everything has been said", "[notify]") {
    CHECK(notify_ready("rest"));
}

TEST_CASE("a line break in a status cannot forge a field of its own", "[notify]") {
    const test::NotifySocket manager;
    const test::Environment socket{"NOTIFY_SOCKET", manager.address()};
    notify_status("one\nWATCHDOG=1");
    CHECK(manager.receive() == R"(STATUS=one\u000AWATCHDOG=1)");
}

}  // namespace
}  // namespace nightlatch::sys
