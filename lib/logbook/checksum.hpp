// SPDX-License-Identifier: MIT
#pragma once

#include <cstdint>
#include <string_view>

namespace nightlatch::logbook {

/// CRC32C: the polynomial 0x1EDC6F41, reflected, all ones before and after [RFC 3720, 12.1 and
/// B.4].
std::uint32_t crc32c(std::string_view bytes) noexcept;

}  // namespace nightlatch::logbook
