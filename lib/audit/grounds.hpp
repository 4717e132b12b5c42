// SPDX-License-Identifier: MIT
#pragma once

#include "audit/scene.hpp"
#include "audit/verdict.hpp"
#include "base/result.hpp"

#include <cstddef>
#include <map>
#include <span>
#include <string>
#include <string_view>

/// The facts that the verdict rests on, small enough to keep beside a unit's papers and to compare
/// with another day's: of the device tree only what bears on the post-halt line and the button.
namespace nightlatch::audit {

struct Grounds {
    /// By their keys. Safe text; missing: it could not be seen, and why, if that was this day.
    std::map<std::string, Known<std::string>, std::less<>> facts;
};

/// What is kept, and what a change of it means.
struct GroundsRow {
    std::string_view key;  ///< "node.line"
    bool matters = true;   ///< a change can change what happens after the halt, or at the button
    std::string_view so;   ///< what a change means; a sentence
    Known<std::string> (*value)(const Scene& scene);
};

/// In the order of their keys.
std::span<const GroundsRow> grounds_rows();

/// The whole, with the verdict. `version`: of the program, "0.1.0".
Grounds grounds_of(const Scene& scene, core::Verdict verdict, std::string_view version);

/// A file of this kind is at most so long, and each of its values: a longer one is cut, with a sum
/// of the whole at its end.
inline constexpr std::size_t most_grounds_bytes = 65'536;
inline constexpr std::size_t most_grounds_value = 1'000;

/// "format = nightlatch-audit-facts 1", then a line "key = value" for each, by their keys; "?"
/// stands for what could not be seen. At most `most_grounds_bytes`.
std::string to_text(const Grounds& grounds);

/// Of any bytes. Fails with the line that is wrong, "3: …".
Result<Grounds, std::string> read_grounds(std::string_view text);

}  // namespace nightlatch::audit
