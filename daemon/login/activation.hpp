// SPDX-License-Identifier: MIT
#pragma once

#include <string_view>

namespace nightlatch::login {

/// This error, for a call to a name that nobody owns, says for certain that there is nobody to
/// start: not that a start failed or took too long, for the next one may succeed. `name` and `text`
/// are the error reply's.
[[nodiscard]] bool cannot_be_started(std::string_view name, std::string_view text) noexcept;

}  // namespace nightlatch::login
