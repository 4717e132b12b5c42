// SPDX-License-Identifier: MIT
#include "daemon/tool/terminal.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <cstdio>
#include <cstdlib>

#include <sys/ioctl.h>
#include <unistd.h>

namespace nightlatch::tool {

TerminalSize size_of(int fd) {
    TerminalSize told;
    winsize size{};
    if (ioctl(fd, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) {
        told.columns = size.ws_col;
        told.rows = size.ws_row > 0 ? size.ws_row : told.rows;
    }
    return told;
}

page::Style style_of(int fd) {
    page::Style style;
    if (isatty(fd) == 1) {
        style.colour = std::getenv("NO_COLOR") == nullptr;
        style.columns = std::clamp(size_of(fd).columns, 60U, 110U);
    }
    return style;
}

page::Style style_of_output() {
    return style_of(STDOUT_FILENO);
}

int complain(std::string_view text, int status) {
    tell("nightlatch: " + std::string(text));
    return status;
}

int complain_lines(std::string_view text, int status) {
    std::fprintf(stderr, "nightlatch: %s\n", safe_lines(text).c_str());
    return status;
}

void tell(std::string_view text) {
    std::fprintf(stderr, "%s\n", safe(text).c_str());
}

}  // namespace nightlatch::tool
