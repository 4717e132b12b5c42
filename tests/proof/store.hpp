// SPDX-License-Identifier: MIT
#pragma once

#include <cstdint>
#include <cstring>
#include <vector>

namespace nightlatch::proof {

/// All states found, whole, one after the other, each with how it was come by; and a table of open
/// addresses that finds one by its bytes. Grows in blocks, so that nothing is held twice.
class Store {
public:
    explicit Store(std::size_t bytes);

    static constexpr std::uint32_t none = UINT32_MAX;

    /// Its number, and whether it is new.
    struct Found {
        std::uint32_t number;
        bool fresh;
    };

    Found add(const std::uint8_t* state, std::uint32_t from, std::uint8_t move);

    [[nodiscard]] std::uint32_t size() const { return count_; }

    [[nodiscard]] const std::uint8_t* at(std::uint32_t number) const {
        return &blocks_[number / per_block][number % per_block * record_];
    }

    [[nodiscard]] std::uint32_t from(std::uint32_t number) const;

    [[nodiscard]] std::uint8_t move(std::uint32_t number) const { return at(number)[bytes_ + 4]; }

    [[nodiscard]] std::size_t memory() const {
        return blocks_.size() * per_block * record_ + table_.size() * sizeof(std::uint32_t);
    }

private:
    static constexpr std::size_t per_block = 1U << 16U;

    [[nodiscard]] std::uint64_t hash(const std::uint8_t* state) const;
    void grow();

    std::size_t bytes_;
    std::size_t record_;
    std::uint32_t count_ = 0;
    std::vector<std::vector<std::uint8_t>> blocks_;
    std::vector<std::uint32_t> table_;
};

}  // namespace nightlatch::proof
