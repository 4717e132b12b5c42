// SPDX-License-Identifier: MIT
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <string_view>

/// Text from elsewhere made safe, and the small questions that every reader of text asks.
///
/// Foreign is what a device tree, another program, a file, the bus or a command line says: any
/// bytes. It reaches a terminal, the journal, a status line, a picture or a file only through
/// safe(), safe_lines(), shortened() or in_quotes().
namespace nightlatch {

/// Foreign text as one line. Valid UTF-8 stays as it is, so that a name can be typed back; what
/// would steer a terminal, end the line or turn the reading direction is shown instead: a control,
/// a bidirectional mark, a separator of lines or a noncharacter as \u001B, a byte that is no part
/// of a character as \x9B.
std::string safe(std::string_view foreign);

/// Text of several lines: each made safe, and only '\n' ends one. Tabs that begin a line stay: they
/// indent what is there to be copied. A name within such a text must have been made safe before,
/// since nobody can tell its line ends from ours.
std::string safe_lines(std::string_view foreign);

/// Returns the safe text, cut after so many bytes of the foreign one with "…", never inside a
/// character.
std::string shortened(std::string_view foreign, std::size_t most = 120);

inline constexpr std::size_t uncut = std::string_view::npos;

/// Returns the safe text in double quotes, cut after so many bytes: a sentence must stay readable.
/// `uncut` is for names whose length is bounded where they come from.
std::string in_quotes(std::string_view foreign, std::size_t most = 60);

/// True when the text is safe as it stands.
bool is_safe(std::string_view text) noexcept;

/// True when a control character is in it (C0, DEL, C1).
bool has_controls(std::string_view text) noexcept;

struct Character {
    char32_t code = 0;
    std::size_t length = 1;  ///< bytes
    bool valid = false;      ///< else it is one byte that is no part of a character
};

/// The character at the beginning of a text that is not empty [RFC 3629].
Character first_character(std::string_view text) noexcept;

/// What isspace(3) takes for white space, whatever the locale.
inline constexpr std::string_view white_space = " \t\n\v\f\r";

/// Returns the text without `blanks` at both ends.
std::string_view trimmed(std::string_view text, std::string_view blanks = white_space) noexcept;

bool is_digit(char c) noexcept;

/// True when the text is decimal digits, at least one.
bool all_digits(std::string_view text) noexcept;

/// True when the two differ in nothing but the case of the letters A to Z, whatever the locale.
bool same_but_for_case(std::string_view a, std::string_view b) noexcept;

/// The decimal number that the text is, digits alone; nothing when it is none or above `most`.
std::optional<unsigned> number_in(std::string_view text,
                                  unsigned most = std::numeric_limits<unsigned>::max()) noexcept;

/// "7,260".
std::string counted(std::uint64_t count);

/// "1 press", "0 presses", "7,260 presses".
std::string counted(std::uint64_t count, std::string_view one, std::string_view more);

/// The same for a noun whose plural takes an s.
std::string counted(std::uint64_t count, std::string_view one);

}  // namespace nightlatch
