// SPDX-License-Identifier: MIT
#include "core/readability.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace std::chrono_literals;

namespace {

/// Found unreadable at 10 s, and opened again at 11 s.
Readability reopened() {
    Readability line;
    line.set(published_limits, 50ms);
    line.opened(Instant{});
    CHECK(line.found_unreadable(Instant(10s)));
    line.opened(Instant(11s));
    return line;
}

}  // namespace

TEST_CASE("opened again after it could not be read, a line has a second to settle, not ten") {
    const Readability line = reopened();
    CHECK(line.patience_ends(Instant(11s)) == Instant(12s));
    CHECK(line.patience_ends(Instant(71s)) == Instant(81s));
}

TEST_CASE("a line that vanishes while it is on trial is on trial when it comes back") {
    Readability line = reopened();
    CHECK_FALSE(line.vanished(Instant(70s)));
    line.opened(Instant(75s));
    CHECK(line.patience_ends(Instant(75s)) == Instant(76s));
}

TEST_CASE("a line on trial is readable again when it has been for 60 s, and only it") {
    Readability line;
    line.set(published_limits, 50ms);
    line.opened(Instant{});
    CHECK(line.readable_at() == never);
    line = reopened();
    CHECK_FALSE(line.found_unreadable(Instant(12s)));
    line.opened(Instant(14s));
    CHECK(line.readable_at() == Instant(74s));
    CHECK(line.readable_again() == 4s);  // from 10 s to 14 s
    CHECK(line.readable_at() == never);
    CHECK(line.found_unreadable(Instant(80s)));
}

TEST_CASE("a line that vanishes after 60 readable seconds comes back without a trial") {
    Readability line = reopened();
    CHECK(line.vanished(Instant(71s)));
    line.opened(Instant(75s));
    CHECK(line.patience_ends(Instant(75s)) == Instant(85s));
    CHECK(line.found_unreadable(Instant(90s)));
}
