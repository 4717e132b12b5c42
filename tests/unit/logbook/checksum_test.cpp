// SPDX-License-Identifier: MIT
#include "logbook/checksum.hpp"

#include <string>

#include <catch2/catch_test_macros.hpp>

using nightlatch::logbook::crc32c;

TEST_CASE("the sum of a line is CRC32C, by its published examples", "[logbook]") {
    // RFC 3720, B.4, as the four bytes there in the order of the wire; the last is the check value
    // of CRC-32/ISCSI in the catalogue of parametrised CRC algorithms, from memory.
    std::string up;
    std::string down;
    for (int i = 0; i < 32; ++i) {
        up += static_cast<char>(i);
        down += static_cast<char>(31 - i);
    }
    CHECK(crc32c(std::string(32, '\0')) == 0x8A9136AA);
    CHECK(crc32c(std::string(32, '\xFF')) == 0x62A8AB43);
    CHECK(crc32c(up) == 0x46DD794E);
    CHECK(crc32c(down) == 0x113FDB5C);
    CHECK(crc32c("123456789") == 0xE3069283);
    CHECK(crc32c("") == 0);
}
