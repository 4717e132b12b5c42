// SPDX-License-Identifier: MIT
#include "wave/vcd_ids.hpp"

#include <algorithm>
#include <optional>

namespace nightlatch::wave {
namespace {

constexpr std::size_t base = 95;  // 94 printable characters, and the end
constexpr std::size_t longest_short = 3;

std::optional<std::size_t> number_of(std::string_view id) noexcept {
    if (id.size() > longest_short) {
        return std::nullopt;
    }
    std::size_t number = 0;
    for (const char c : id) {
        const auto digit = static_cast<std::size_t>(static_cast<unsigned char>(c)) - '!' + 1;
        if (digit >= base) {  // what lies below '!' wraps round to far above
            return std::nullopt;
        }
        number = number * base + digit;
    }
    return number;
}

}  // namespace

VcdIds::VcdIds(const std::vector<VcdSignal>& signals) {
    for (const VcdSignal& signal : signals) {
        if (const auto number = number_of(signal.id)) {
            short_.resize(std::max(short_.size(), *number + 1));
            short_[*number] = true;
        } else {
            long_.push_back(signal.id);
        }
    }
    std::sort(long_.begin(), long_.end());
}

bool VcdIds::contains(std::string_view id) const noexcept {
    if (const auto number = number_of(id)) {
        return *number < short_.size() && short_[*number];
    }
    return std::binary_search(long_.begin(), long_.end(), id);
}

}  // namespace nightlatch::wave
