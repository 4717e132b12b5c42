// SPDX-License-Identifier: MIT
#include "base/nearest.hpp"

#include <algorithm>
#include <string>
#include <vector>

namespace nightlatch {
namespace {

constexpr std::size_t longest_word = 64;  // bounds the work on a hostile text

/// What people confuse without noticing made equal.
std::string folded(std::string_view word) {
    std::string text(word);
    for (char& c : text) {
        if (c >= 'A' && c <= 'Z') {
            c = static_cast<char>(c - 'A' + 'a');
        } else if (c == '-' || c == ' ') {
            c = '_';
        }
    }
    return text;
}

/// Edits from one to the other: a letter put in, left out, changed, or swapped with its neighbour
/// (the restricted edit distance: no part is edited twice).
std::size_t distance(const std::string& a, const std::string& b) {
    std::vector<std::size_t> before(b.size() + 1);
    std::vector<std::size_t> last(b.size() + 1);
    std::vector<std::size_t> row(b.size() + 1);
    for (std::size_t j = 0; j <= b.size(); ++j) {
        last[j] = j;
    }
    for (std::size_t i = 1; i <= a.size(); ++i) {
        row[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const std::size_t change = last[j - 1] + (a[i - 1] == b[j - 1] ? 0U : 1U);
            row[j] = std::min({change, last[j] + 1, row[j - 1] + 1});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                row[j] = std::min(row[j], before[j - 2] + 1);
            }
        }
        std::swap(before, last);
        std::swap(last, row);
    }
    return last[b.size()];
}

/// "hold_time" for "hold", "stages" for "stage": one word whole at the start or end of the other.
bool one_in_the_other(std::string_view a, std::string_view b) {
    if (a.size() < b.size()) {
        std::swap(a, b);
    }
    return b.size() >= 3 && (a.starts_with(b) || a.ends_with(b));
}

}  // namespace

std::optional<std::string_view> nearest(std::string_view typed,
                                        std::span<const std::string_view> known) {
    if (typed.empty() || typed.size() > longest_word) {
        return std::nullopt;
    }
    const std::string word = folded(typed);
    std::optional<std::string_view> best;
    std::size_t least = longest_word;
    for (const std::string_view candidate : known) {
        const std::string other = folded(candidate);
        // A third of the letters wrong still looks like the word; more is another word.
        const std::size_t limit = std::max<std::size_t>(1, (other.size() + 1) / 3);
        std::size_t edits = distance(word, other);
        if (edits > limit) {
            if (!one_in_the_other(word, other)) {
                continue;
            }
            edits = limit + 1;
        }
        if (edits < least) {
            least = edits;
            best = candidate;
        }
    }
    return best;
}

}  // namespace nightlatch
