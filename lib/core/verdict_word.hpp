// SPDX-License-Identifier: MIT
#pragma once

#include "core/settings.hpp"

namespace nightlatch::core {

/// The verdict's word for machines: in the audit's JSON and on the bus.
constexpr const char* word_of(Verdict verdict) {
    switch (verdict) {
    case Verdict::configured:
        return "configured";
    case Verdict::contradicted:
        return "contradicted";
    case Verdict::absent:
        return "absent";
    case Verdict::cannot_tell:
        return "cannot-tell";
    }
    return "cannot-tell";
}

}  // namespace nightlatch::core
