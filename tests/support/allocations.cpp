// SPDX-License-Identifier: MIT
#include "support/allocations.hpp"

#include <atomic>
#include <cstdlib>
#include <new>

#include <malloc.h>

namespace {

std::atomic<std::size_t> count{0};
std::atomic<std::size_t> bytes{0};
std::atomic<std::size_t> most_bytes{0};

void take(std::size_t size) noexcept {
    const std::size_t now = bytes += size;
    std::size_t most = most_bytes;
    while (most < now && !most_bytes.compare_exchange_weak(most, now)) {
    }
}

void give_back(void* memory) noexcept {
    bytes -= malloc_usable_size(memory);
    std::free(memory);  // NOLINT(cppcoreguidelines-no-malloc)
}

}  // namespace

std::size_t nightlatch::test::allocations() noexcept {
    return count;
}

std::size_t nightlatch::test::held() noexcept {
    return bytes;
}

std::size_t nightlatch::test::most_held() noexcept {
    return most_bytes;
}

void nightlatch::test::forget_most() noexcept {
    most_bytes = bytes.load();
}

// The array and the nothrow forms call these two [C++20, new.delete.single, new.delete.array].
void* operator new(std::size_t size) {
    ++count;
    void* const memory = std::malloc(size == 0 ? 1 : size);  // NOLINT(cppcoreguidelines-no-malloc)
    if (memory == nullptr) {
        throw std::bad_alloc();
    }
    take(malloc_usable_size(memory));
    return memory;
}

void operator delete(void* memory) noexcept {
    give_back(memory);
}

void operator delete(void* memory, std::size_t) noexcept {
    give_back(memory);
}
