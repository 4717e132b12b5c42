// SPDX-License-Identifier: MIT
#include "fuzz/fuzz.hpp"

#include <cstdio>
#include <cstdlib>

namespace nightlatch::test {

void expect_kept(const std::string& broken_promise) {
    if (!broken_promise.empty()) {
        std::fprintf(stderr, "broken promise: %s\n", broken_promise.c_str());
        std::abort();
    }
}

}  // namespace nightlatch::test
