// SPDX-License-Identifier: MIT
#pragma once

#include <string_view>

namespace nightlatch {

/// Of what is said about a configuration or found in a unit.
enum class Severity : unsigned char {
    error,    ///< it cannot be acted on; the unit will not do what its configuration says
    warning,  ///< it can, but hardly as it was meant; it may not, or not always
    note,     ///< worth knowing
};

constexpr std::string_view text_of(Severity severity) noexcept {
    switch (severity) {
    case Severity::error:
        return "error";
    case Severity::warning:
        return "warning";
    case Severity::note:
        break;
    }
    return "note";
}

}  // namespace nightlatch
