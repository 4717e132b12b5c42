// SPDX-License-Identifier: MIT
#pragma once

#include <cstddef>

namespace nightlatch::test {

/// How many times operator new has been called so far in this program; link allocations.cpp.
std::size_t allocations() noexcept;

}  // namespace nightlatch::test
