// SPDX-License-Identifier: MIT
#include "core/pattern.hpp"

namespace nightlatch::core {

PatternStep step_of(const Pattern& pattern, Instant since, Instant now) noexcept {
    switch (pattern.kind) {
    case PatternKind::off:
        return {Level::inactive, never};
    case PatternKind::on:
        return {Level::active, never};
    case PatternKind::pulse:
        if (now < since + pattern.on) {
            return {Level::active, since + pattern.on};
        }
        return {Level::inactive, never};
    case PatternKind::blink:
        break;
    }
    const Duration period = pattern.on + pattern.off;
    const Instant start = since + (now - since) / period * period;
    if (now < start + pattern.on) {
        return {Level::active, start + pattern.on};
    }
    return {Level::inactive, start + period};
}

}  // namespace nightlatch::core
