// SPDX-License-Identifier: MIT
#include "base/nearest.hpp"

#include <algorithm>
#include <numeric>
#include <string>
#include <utility>
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
class Edits {
public:
    Edits(const std::string& a, const std::string& b) : a_(a), b_(b), before_(b.size() + 1) {
        last_ = before_;
        row_ = before_;
        std::iota(last_.begin(), last_.end(), std::size_t{0});
        for (std::size_t i = 1; i <= a.size(); ++i) {
            row_[0] = i;
            for (std::size_t j = 1; j <= b.size(); ++j) {
                row_[j] = least(i, j);
            }
            std::swap(before_, last_);
            std::swap(last_, row_);
        }
    }

    [[nodiscard]] std::size_t count() const { return last_.back(); }

private:
    /// From the first i letters of the one to the first j of the other; i, j >= 1.
    [[nodiscard]] std::size_t least(std::size_t i, std::size_t j) const {
        const std::size_t change = last_[j - 1] + (a_[i - 1] == b_[j - 1] ? 0U : 1U);
        std::size_t edits = std::min({change, last_[j] + 1, row_[j - 1] + 1});
        if (i > 1 && j > 1 && a_[i - 1] == b_[j - 2] && a_[i - 2] == b_[j - 1]) {
            edits = std::min(edits, before_[j - 2] + 1);
        }
        return edits;
    }

    const std::string& a_;
    const std::string& b_;
    std::vector<std::size_t> before_;
    std::vector<std::size_t> last_;
    std::vector<std::size_t> row_;
};

/// "hold_time" for "hold", "stages" for "stage": one word whole at the start or end of the other.
bool one_in_the_other(std::string_view a, std::string_view b) {
    if (a.size() < b.size()) {
        std::swap(a, b);
    }
    return b.size() >= 3 && (a.starts_with(b) || a.ends_with(b));
}

/// Nothing when the two are different words.
std::optional<std::size_t> edits_between(const std::string& word, const std::string& other) {
    // A third of the letters wrong still looks like the word; more is another word.
    const std::size_t limit = std::max<std::size_t>(1, (other.size() + 1) / 3);
    const std::size_t edits = Edits(word, other).count();
    if (edits <= limit) {
        return edits;
    }
    return one_in_the_other(word, other) ? std::optional(limit + 1) : std::nullopt;
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
        const auto edits = edits_between(word, folded(candidate));
        if (edits && *edits < least) {
            least = *edits;
            best = candidate;
        }
    }
    return best;
}

}  // namespace nightlatch
