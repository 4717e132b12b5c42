// SPDX-License-Identifier: MIT
#pragma once

#include "base/text.hpp"
#include "wave/capture.hpp"

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::wave {

/// Gathers what there is to say about one text. A reader knows offsets; the lines and columns are
/// counted once, at the end, so that a good text costs nothing. Sentences that differ only in what
/// they quote and in numbers are the same trouble: the first is told, and how many more there are.
class Problems {
public:
    static constexpr std::size_t most = 20;  ///< more would only repeat what is wrong
    /// Of them: an error always finds room, and warnings alone never end the reading.
    static constexpr std::size_t most_warnings = 5;
    static constexpr std::size_t most_counted = 100'000;  ///< errors, the same ones too

    explicit Problems(std::string_view text) : text_(text) {}

    /// `offset` into the text, its size at most; `sentence` must be safe already [base/text.hpp].
    void error(std::size_t offset, std::string sentence);
    void warning(std::size_t offset, std::string sentence);

    [[nodiscard]] bool any_error() const noexcept { return errors_ > 0; }

    /// There is no room for another one: stop reading.
    [[nodiscard]] bool full() const noexcept {
        return found_.size() >= most || errors_ >= most_counted;
    }

    /// By place, at most `most`; those of one place in the order in which they were found.
    [[nodiscard]] std::vector<Problem> listed() const;

private:
    struct Found {
        std::size_t offset;
        bool error;
        std::string text;
        std::string kind = {};
        std::size_t more = 0;  ///< of the same kind
    };

    void add(Found found);
    [[nodiscard]] std::string told(Found found) const;

    std::string_view text_;
    std::vector<Found> found_;
    std::size_t errors_ = 0;
};

/// "a", "b" and 12 more: the first eight of the names.
std::string names_listed(std::span<const std::string_view> names);

/// `say which is the button's, as in --signal CH1: there are "CH1" and "CH2"`. The example is the
/// first name that a shell takes as it stands.
std::string signal_choice(std::span<const std::string_view> names);

/// ` (did you mean "top.button"?)`, or nothing when no name is near. Only the first 1,000 are
/// looked at, which bounds the work on a hostile text.
std::string nearest_hint(std::string_view typed, std::span<const std::string_view> names);

}  // namespace nightlatch::wave
