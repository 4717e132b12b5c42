// SPDX-License-Identifier: MIT
#pragma once

#include "page/page.hpp"

#include <string_view>

/// The person at the terminal. What is told here is made safe here.
namespace nightlatch::tool {

struct TerminalSize {
    unsigned rows = 24;
    unsigned columns = 80;
};

/// The terminal's own; 24 rows of 80 columns where it does not say.
TerminalSize size_of(int fd);

/// As wide as the terminal of the file descriptor, within what can be read, and in colour unless
/// $NO_COLOR forbids it; 80 columns and none where there is no terminal.
page::Style style_of(int fd);

/// That of standard output.
page::Style style_of_output();

/// "nightlatch: TEXT" on standard error, one line. Gives the exit status back.
int complain(std::string_view text, int status = 2);

/// The same for a text of several lines: what is foreign in it must have been made safe.
int complain_lines(std::string_view text, int status = 2);

/// A line on standard error.
void tell(std::string_view text);

}  // namespace nightlatch::tool
