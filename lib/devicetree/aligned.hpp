// SPDX-License-Identifier: MIT
#pragma once

#include <algorithm>
#include <cstdint>
#include <cstring>
#include <string_view>
#include <vector>

#include <libfdt.h>

namespace nightlatch::devicetree {

/// Bytes as libfdt wants them: on an eight-byte boundary, never shorter than a header, which it
/// reads before it knows how long that is, and with a NUL behind, where it looks for the end of a
/// text that has none.
class Aligned {
public:
    explicit Aligned(std::size_t bytes)
        : words_(std::max(bytes, sizeof(fdt_header)) / sizeof(std::uint64_t) + 1) {}

    explicit Aligned(std::string_view bytes) : Aligned(bytes.size()) {
        std::memcpy(data(), bytes.data(), bytes.size());
    }

    [[nodiscard]] void* data() noexcept { return words_.data(); }

private:
    std::vector<std::uint64_t> words_;
};

}  // namespace nightlatch::devicetree
