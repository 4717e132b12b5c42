// SPDX-License-Identifier: MIT
#pragma once

#include "logbook/record.hpp"

#include <optional>
#include <string_view>

namespace nightlatch::logbook {

/// How a run ended.
enum class End : unsigned char {
    running,          ///< it has not: it is this boot's
    orderly,          ///< it got to its end, and its file systems were left in order
    left,             ///< it wrote that it ends, and what came then was not seen, or was no good
    lost,             ///< it never got there: supply, reset, crash
    lost_last_words,  ///< the kernel said why
    unknowable,       ///< its file system does not tell
    not_looked,       ///< no later run has looked
};

std::string_view text_of(End end) noexcept;

struct RunEnd {
    End end = End::not_looked;
    /// The piece that decided, where one did: what was recovered, what could not be read, what the
    /// kernel said last; of an orderly end, who found the root's file system in order.
    std::optional<Evidence> by{};
    std::string file_system{};  ///< of `unknowable`: "/ (overlay)"
};

/// Of the run before `next`, by what that one found at its start. Its file systems are in order
/// only if the first that would have had to recover each of them was heard and did not: a check
/// before the mount leaves nothing for the kernel to recover and to tell of, and the kernel's mount
/// nothing for a check that comes later. What could not be read is never orderly.
///
/// It speaks of the machine's boot before this one. A boot that left no record at all (its supply
/// was lost before the root could be written to, or the disk was full) is not seen.
RunEnd judge(bool wrote_its_end, const Started& next);

}  // namespace nightlatch::logbook
