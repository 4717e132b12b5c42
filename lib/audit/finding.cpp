// SPDX-License-Identifier: MIT
#include "audit/finding.hpp"

#include "audit/rule.hpp"

namespace nightlatch::audit {

std::string_view text_of(Group group) noexcept {
    switch (group) {
    case Group::post_halt:
        return "post-halt";
    case Group::button:
        return "button";
    case Group::cues:
        return "cues";
    case Group::service:
        return "service";
    case Group::system:
        return "system";
    case Group::boot:
        return "boot";
    }
    return {};
}

}  // namespace nightlatch::audit
