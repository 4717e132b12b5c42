// SPDX-License-Identifier: MIT
#pragma once

#include "wave/vcd_header.hpp"

#include <string_view>
#include <vector>

namespace nightlatch::wave {

/// The id codes that are declared. Asked once a value change, so short codes, which nearly all are,
/// cost one look into a table.
class VcdIds {
public:
    explicit VcdIds(const std::vector<VcdSignal>& signals);

    [[nodiscard]] bool contains(std::string_view id) const noexcept;

private:
    std::vector<bool> short_;             ///< by the code as a number of base 95
    std::vector<std::string_view> long_;  ///< sorted
};

}  // namespace nightlatch::wave
