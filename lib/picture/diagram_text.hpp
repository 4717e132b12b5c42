// SPDX-License-Identifier: MIT
#pragma once

#include "base/text.hpp"
#include "base/time.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::picture::svg {

/// Sizes of letters in units of the picture.
enum class Font : unsigned char { small, normal, strong, heading };

double size_of(Font font) noexcept;

/// The text, or its beginning and "…" if it has more bytes than `most`; no character is cut.
std::string limited(std::string text, std::size_t most);

/// Made safe [base/text.hpp; that includes what XML forbids], between tags and within quotes too.
std::string escaped(std::string_view text);

/// At most two decimals, a point whatever the locale, no exponent: "12", "0.5", "-3.25". What is no
/// number is 0.
std::string number(double value);

/// A length or a time for people, rounded to two decimals of its smallest unit: "0.35 ms",
/// "150 ms", "3.4 s", "2 min 5.3 s", "12 d 5 h 3 min 20.4 s".
std::string time_text(Duration time);

/// How wide the text is at most, in units of the picture. Taken from a sans-serif font that is
/// wider than most, so that what fits by this fits elsewhere too. `text` is safe.
double width_of(std::string_view text, Font font);

/// The text, or as much of its beginning as fits, then "…". `text` is safe.
std::string shortened(std::string_view text, Font font, double room);

/// The text in lines that fit, broken at spaces; what is left over of the last line is shortened.
/// At least one line; `most` is at least 1.
std::vector<std::string> wrapped(std::string_view text, Font font, double room, std::size_t most);

}  // namespace nightlatch::picture::svg
