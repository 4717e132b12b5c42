// SPDX-License-Identifier: MIT
#include "core/ring.hpp"

#include <catch2/catch_test_macros.hpp>

using nightlatch::core::Ring;

TEST_CASE("a ring gives back in order, and when full the oldest gives way") {
    Ring<int, 3> ring;
    CHECK_FALSE(ring.pop());
    for (int i = 1; i <= 5; ++i) {
        ring.push(i);
    }
    CHECK(ring.size() == 3);
    CHECK(ring.pop() == 3);
    ring.push(6);
    CHECK(ring.pop() == 4);
    CHECK(ring.pop() == 5);
    CHECK(ring.pop() == 6);
    CHECK_FALSE(ring.pop());
}
