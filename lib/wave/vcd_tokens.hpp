// SPDX-License-Identifier: MIT
#pragma once

#include <algorithm>
#include <cstddef>
#include <string_view>

namespace nightlatch::wave {

struct VcdToken {
    std::string_view text;  ///< empty: the end of the file
    std::size_t at = 0;     ///< offset into the file
};

/// A VCD file's words: whatever stands between white space [IEEE 1364-2005, 18.2.1].
class VcdTokens {
public:
    explicit VcdTokens(std::string_view text) : text_(text) {}

    VcdToken next() noexcept {
        while (at_ < text_.size() && white(text_[at_])) {
            ++at_;
        }
        const std::size_t start = at_;
        while (at_ < text_.size() && !white(text_[at_])) {
            ++at_;
        }
        return {text_.substr(start, at_ - start), start};
    }

    /// The next one will be `token` again, or the first from its place on.
    void back_to(const VcdToken& token) noexcept { at_ = std::min(token.at, text_.size()); }

    [[nodiscard]] std::size_t size() const noexcept { return text_.size(); }

private:
    static bool white(char c) noexcept { return c == ' ' || (c >= '\t' && c <= '\r'); }

    std::string_view text_;
    std::size_t at_ = 0;
};

}  // namespace nightlatch::wave
