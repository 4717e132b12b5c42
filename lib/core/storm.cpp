// SPDX-License-Identifier: MIT
#include "core/storm.hpp"

namespace nightlatch::core {
namespace {

using namespace std::chrono_literals;
constexpr std::uint64_t most_in_a_second = 2'000;

}  // namespace

bool Storm::count(Instant stamp, std::uint32_t edges) noexcept {
    if (!counting_ || stamp >= second_begin_ + 2s) {
        reset();
        counting_ = true;
        second_begin_ = stamp;
    } else if (stamp >= second_begin_ + 1s) {
        hot_seconds_ = edges_ > most_in_a_second ? hot_seconds_ + 1 : 0;
        edges_ = 0;
        second_begin_ += 1s;
    }
    edges_ += edges;
    return hot_seconds_ >= 2;
}

}  // namespace nightlatch::core
