// SPDX-License-Identifier: MIT
#include "bootfiles/draft.hpp"

namespace nightlatch::bootfiles {

Draft::Draft(Loader loader, std::string_view file) {
    intent_.loader = loader;
    intent_.file = file;
}

bool Draft::full(std::size_t count, std::size_t most, const FileLine& place) {
    if (count < most) {
        return false;
    }
    if (!overflowed_) {
        overflowed_ = true;
        intent_.remarks.push_back({RemarkKind::too_long,
                                   place,
                                   "there is more in this text than is looked at; what stands here "
                                   "and after it may be missing"});
    }
    return true;
}

std::optional<std::size_t> Draft::add(OverlayUse use) {
    if (full(intent_.overlays.size(), most_overlays, use.place)) {
        return std::nullopt;
    }
    intent_.overlays.push_back(std::move(use));
    return intent_.overlays.size() - 1;
}

void Draft::add(std::size_t overlay, Parameter parameter) {
    if (!full(parameters_, most_parameters, parameter.place)) {
        ++parameters_;
        intent_.overlays.at(overlay).parameters.push_back(std::move(parameter));
    }
}

void Draft::add(EarlyLine line) {
    if (!full(intent_.early_lines.size(), most_early_lines, line.place)) {
        intent_.early_lines.push_back(std::move(line));
    }
}

bool Draft::remarks_full() const noexcept {
    return intent_.remarks.size() >= most_remarks;
}

void Draft::remark(RemarkKind kind, FileLine place, std::string text) {
    if (!full(intent_.remarks.size(), most_remarks, place)) {
        intent_.remarks.push_back({kind, std::move(place), std::move(text)});
    }
}

}  // namespace nightlatch::bootfiles
