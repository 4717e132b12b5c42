// SPDX-License-Identifier: MIT
#pragma once

#include "bootfiles/intent.hpp"

#include <optional>

namespace nightlatch::bootfiles {

/// An intent in the making, which no text can make large: past the limits one remark says that
/// there was more.
class Draft {
public:
    static constexpr std::size_t most_overlays = 4'096;
    static constexpr std::size_t most_parameters = 16'384;
    static constexpr std::size_t most_early_lines = 16'384;
    static constexpr std::size_t most_remarks = 256;

    Draft(Loader loader, std::string_view file);

    /// The place in overlays(); nothing past the limit.
    std::optional<std::size_t> add(OverlayUse use);
    void add(std::size_t overlay, Parameter parameter);
    void add(EarlyLine line);
    void remark(RemarkKind kind, FileLine place, std::string text);
    /// Is there room for a remark? What makes its text can be spared otherwise.
    [[nodiscard]] bool remarks_full() const noexcept;

    [[nodiscard]] std::vector<OverlayUse>& overlays() noexcept { return intent_.overlays; }

    /// The end: nothing may be added after it.
    Intent take() { return std::move(intent_); }

private:
    bool full(std::size_t count, std::size_t most, const FileLine& place);

    Intent intent_;
    std::size_t parameters_ = 0;
    bool overflowed_ = false;
};

}  // namespace nightlatch::bootfiles
