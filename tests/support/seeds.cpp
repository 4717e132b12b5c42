// SPDX-License-Identifier: MIT
#include "support/seeds.hpp"

#include <cstdlib>
#include <iostream>

namespace nightlatch::test {

std::uint64_t seed_for(std::string_view what) {
    const char* given = std::getenv("SEED");
    std::uint64_t seed = 0;
    if (given != nullptr) {
        seed = std::strtoull(given, nullptr, 10);
    } else {
        std::random_device device;
        seed = (static_cast<std::uint64_t>(device()) << 32U) | device();
    }
    std::cout << what << ": SEED=" << seed << std::endl;
    return seed;
}

}  // namespace nightlatch::test
