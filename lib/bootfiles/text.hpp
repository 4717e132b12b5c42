// SPDX-License-Identifier: MIT
#pragma once

#include "base/text.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

/// Text of any bytes, as the parsers take it apart.
namespace nightlatch::bootfiles {

/// All that these files have between words.
inline constexpr std::string_view blanks = " \t";

/// Without blanks at the front.
std::string_view without_leading_blanks(std::string_view text) noexcept;

/// The parts between the separators, empty ones too: "a,,b" are three.
std::vector<std::string_view> split(std::string_view text, char separator);

/// The words that stand between any of these characters.
std::vector<std::string_view> words(std::string_view text, std::string_view between = " \t");

/// An overlay's name by its file: without folder and ".dtbo" or ".dtb"; the whole when nothing else
/// is left.
std::string_view overlay_name(std::string_view file) noexcept;

/// Takes a text line by line: "\n" ends one, and a "\r" before it belongs to the end. Gives up
/// after the limits, over all texts that were given to it.
class LineBudget {
public:
    static constexpr std::size_t most_bytes = std::size_t{1} << 20U;
    static constexpr std::size_t most_lines = 65'536;

    /// As much of the text as may still be read.
    std::string_view take(std::string_view text) noexcept;
    /// May one more line be read?
    bool line() noexcept;

private:
    std::size_t bytes_ = 0;
    std::size_t lines_ = 0;
};

struct Line {
    unsigned number = 0;  ///< from 1
    std::string_view text;
    bool carriage_return = false;  ///< one stood before the line's end
};

/// The line that begins at `at`, which moves on to the next; nothing at the end of the text.
std::optional<Line> next_line(std::string_view text, std::size_t& at, unsigned& line);

}  // namespace nightlatch::bootfiles
