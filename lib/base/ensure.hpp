// SPDX-License-Identifier: MIT
#pragma once

namespace nightlatch {

[[noreturn]] void invariant_broken(const char* what, const char* file, int line) noexcept;

}  // namespace nightlatch

/// Kept in every build: a broken invariant aborts, systemd starts us again, and an abort never
/// powers anything off. A macro only because the place of the call belongs in the message.
#define NIGHTLATCH_ENSURE(condition)                                                               \
    (static_cast<bool>(condition)                                                                  \
         ? static_cast<void>(0)                                                                    \
         : ::nightlatch::invariant_broken(#condition, __FILE__, __LINE__))
