// SPDX-License-Identifier: MIT
#include "logbook/checksum.hpp"

#include <array>
#include <cstddef>

namespace nightlatch::logbook {
namespace {

constexpr std::array<std::uint32_t, 256> made_table() {
    std::array<std::uint32_t, 256> table{};
    for (std::uint32_t byte = 0; byte < table.size(); ++byte) {
        std::uint32_t value = byte;
        for (int bit = 0; bit < 8; ++bit) {
            value = (value >> 1U) ^ ((value & 1U) != 0 ? 0x82F63B78U : 0U);
        }
        table.at(byte) = value;
    }
    return table;
}

constexpr std::array<std::uint32_t, 256> table = made_table();

}  // namespace

std::uint32_t crc32c(std::string_view bytes) noexcept {
    std::uint32_t value = ~std::uint32_t{0};
    for (const char byte : bytes) {
        const std::size_t place = (value ^ static_cast<unsigned char>(byte)) & 0xFFU;
        value = (value >> 8U) ^ table[place];
    }
    return ~value;
}

}  // namespace nightlatch::logbook
