// SPDX-License-Identifier: MIT
#include "store.hpp"

namespace nightlatch::proof {

Store::Store(std::size_t bytes) : bytes_(bytes), record_(bytes + 5), table_(1U << 16U, none) {}

std::uint64_t Store::hash(const std::uint8_t* state) const {
    std::uint64_t sum = 0x9e3779b97f4a7c15U;
    std::size_t i = 0;
    const auto mix = [&sum](std::uint64_t word) {
        sum = (sum ^ word) * 0xff51afd7ed558ccdU;
        sum ^= sum >> 32U;
    };
    for (; i + 8 <= bytes_; i += 8) {
        std::uint64_t word = 0;
        std::memcpy(&word, state + i, 8);
        mix(word);
    }
    std::uint64_t rest = 0;
    std::memcpy(&rest, state + i, bytes_ - i);
    mix(rest);
    return sum;
}

std::uint32_t Store::from(std::uint32_t number) const {
    std::uint32_t before = 0;
    std::memcpy(&before, at(number) + bytes_, 4);
    return before;
}

Store::Found Store::add(const std::uint8_t* state, std::uint32_t from, std::uint8_t move) {
    if (std::size_t{count_} * 2 >= table_.size()) {
        grow();
    }
    const std::size_t mask = table_.size() - 1;
    std::size_t slot = hash(state) & mask;
    for (; table_[slot] != none; slot = (slot + 1) & mask) {
        if (std::memcmp(at(table_[slot]), state, bytes_) == 0) {
            return {table_[slot], false};
        }
    }
    if (count_ % per_block == 0) {
        blocks_.emplace_back(per_block * record_);
    }
    std::uint8_t* const to = &blocks_.back()[count_ % per_block * record_];
    std::memcpy(to, state, bytes_);
    std::memcpy(to + bytes_, &from, 4);
    to[bytes_ + 4] = move;
    table_[slot] = count_;
    return {count_++, true};
}

void Store::grow() {
    const std::size_t room = table_.size() * 2;
    table_ = {};
    table_.assign(room, none);
    for (std::uint32_t i = 0; i < count_; ++i) {
        std::size_t slot = hash(at(i)) & (room - 1);
        while (table_[slot] != none) {
            slot = (slot + 1) & (room - 1);
        }
        table_[slot] = i;
    }
}

}  // namespace nightlatch::proof
