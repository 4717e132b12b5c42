// SPDX-License-Identifier: MIT
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace nightlatch::test {

/// Calls `visit` with every word of `length` letters from {0 … letters-1}, until it returns false.
/// Gives back how many it has seen.
template <class Visit>
std::uint64_t for_each_word(std::size_t letters, std::size_t length, Visit&& visit) {
    std::vector<std::size_t> word(length, 0);
    std::uint64_t count = 0;
    for (;;) {
        ++count;
        if (!visit(word)) {
            return count;
        }
        std::size_t place = length;
        while (place > 0 && ++word[place - 1] == letters) {
            word[--place] = 0;
        }
        if (place == 0) {
            return count;
        }
    }
}

}  // namespace nightlatch::test
