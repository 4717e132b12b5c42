// SPDX-License-Identifier: MIT
#include "base/ensure.hpp"

#include <cstdio>
#include <cstdlib>

namespace nightlatch {

void invariant_broken(const char* what, const char* file, int line) noexcept {
    std::fprintf(stderr, "nightlatch: broken invariant: %s (%s:%d)\n", what, file, line);
    std::abort();
}

}  // namespace nightlatch
