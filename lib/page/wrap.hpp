// SPDX-License-Identifier: MIT
#pragma once

#include <string>
#include <string_view>

/// Text on a page of so many columns. What is foreign in it is safe already: see page/page.hpp.
namespace nightlatch::page {

/// Words broken at blanks; each line after the first begins with `indent` blanks, and the first is
/// taken to stand after `used` columns. A word that is longer than a line stays whole.
std::string wrapped(std::string_view text, unsigned columns, unsigned indent, unsigned used);

/// Each line of the text after so many blanks. A line that itself begins with a blank stays
/// whole: it is there to be copied.
std::string indented(std::string_view text, unsigned columns, unsigned indent);

/// Characters, not bytes, of UTF-8.
unsigned width(std::string_view text);

/// Returns the text with blanks after it, or before it, up to so many columns.
std::string left(std::string_view text, unsigned columns);
std::string right(std::string_view text, unsigned columns);

}  // namespace nightlatch::page
