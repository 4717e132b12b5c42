// SPDX-License-Identifier: MIT
#include "config/diagnostic.hpp"

#include <algorithm>

namespace nightlatch::config {

std::string to_text(const Diagnostic& diagnostic, std::string_view file) {
    return safe(std::string(file) + ":" + std::to_string(diagnostic.place.line) + ":" +
                std::to_string(diagnostic.place.column) + ": " +
                std::string(text_of(diagnostic.severity)) + ": " + diagnostic.key + ": " +
                diagnostic.text);
}

bool has_errors(const Diagnostics& diagnostics) noexcept {
    return std::any_of(diagnostics.begin(), diagnostics.end(), [](const Diagnostic& one) {
        return one.severity == Severity::error;
    });
}

}  // namespace nightlatch::config
