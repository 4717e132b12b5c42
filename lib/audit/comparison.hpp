// SPDX-License-Identifier: MIT
#pragma once

#include "audit/grounds.hpp"
#include "page/page.hpp"

#include <optional>
#include <string>
#include <vector>

/// What became of the facts that a verdict rests on since a day when they were kept.
namespace nightlatch::audit {

struct Change {
    std::string key;
    Known<std::string> then;  ///< missing: it could not be seen, or the program did not look at it
    Known<std::string> now;   ///< missing: it cannot be seen, and why
    bool matters = true;
    std::string so;  ///< what it means; a sentence
};

struct Comparison {
    std::string version;  ///< of the program that kept the facts; "" when the file does not say
    std::optional<std::string> verdict_then;             ///< nothing: the file does not say
    core::Verdict verdict = core::Verdict::cannot_tell;  ///< now
    std::string reason;                                  ///< of the verdict now
    std::vector<Change> changed;                         ///< seen then and now, and not the same
    std::vector<Change> unseen;                          ///< seen then, not now
    std::vector<Change> unknown;                         ///< seen now, not then
    std::size_t same = 0;                                ///< seen then and now, and the same
};

Comparison compare(const Grounds& then, const Grounds& now, const VerdictResult& verdict);

/// True when nothing that matters has changed, all that mattered then can be seen now, and the
/// verdict is what it was: what holds for the unit of then holds for today's.
bool is_as_it_was(const Comparison& comparison);

/// One screen. `kept`: the file, for people.
std::string to_text(const Comparison& comparison, std::string_view kept, const page::Style& style);

}  // namespace nightlatch::audit
