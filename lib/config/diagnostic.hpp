// SPDX-License-Identifier: MIT
#pragma once

#include "base/place.hpp"
#include "base/severity.hpp"
#include "base/text.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::config {

/// One thing to say about a text that a person wrote.
struct Diagnostic {
    Severity severity = Severity::error;
    Place place;
    std::string key;  ///< "button.line"; "syntax" for a text that is not TOML
    std::string
        text;  ///< one sentence: what is wrong and what is allowed; printable characters only

    bool operator==(const Diagnostic&) const = default;
};

/// In the order of their places.
using Diagnostics = std::vector<Diagnostic>;

/// "FILE:LINE:COLUMN: error: KEY: SENTENCE", without a line end. `file` is how the person named it.
std::string to_text(const Diagnostic& diagnostic, std::string_view file);

[[nodiscard]] bool has_errors(const Diagnostics& diagnostics) noexcept;

}  // namespace nightlatch::config
