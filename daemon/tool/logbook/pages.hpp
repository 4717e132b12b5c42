// SPDX-License-Identifier: MIT
#pragma once

#include "audit/witness.hpp"
#include "base/result.hpp"
#include "logbook/book.hpp"
#include "logbook/read.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::tool {

/// What could not be read, and in which file.
struct UnreadLines {
    std::string file;
    logbook::Unread lines;
};

/// What is shown.
struct Pages {
    std::string file;
    std::vector<logbook::Run> runs;  ///< by their numbers; with --since from the first since then
    std::vector<UnreadLines> unread;
    std::optional<audit::Witness> witness{};

    /// The last run of which it is known how it ended, or that it cannot be known; null for none.
    [[nodiscard]] const logbook::Run* last_judged() const;
};

/// This boot's id as the records have it, 32 digits [random(4), boot_id]. "" where the kernel does
/// not say: then no run is known to go on. `root`: see this_boot.hpp.
std::string boot_now(const std::string& root = "");

/// FILE.1 and FILE, of which one at least is there; the run of this boot goes on. What is damaged
/// in them is told in `unread`, and no failure.
Result<Pages> read_pages(const std::string& file);

/// For programs: "lost-last-words".
const char* end_word(logbook::End end) noexcept;

}  // namespace nightlatch::tool
