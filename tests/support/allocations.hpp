// SPDX-License-Identifier: MIT
#pragma once

#include <cstddef>

namespace nightlatch::test {

/// How many times operator new has been called so far in this program; link allocations.cpp.
std::size_t allocations() noexcept;

/// Bytes that it holds now, as the allocator counts them [malloc_usable_size(3)].
std::size_t held() noexcept;

/// The most that it has held since the last call of forget_most(), or since it began.
std::size_t most_held() noexcept;
void forget_most() noexcept;

}  // namespace nightlatch::test
