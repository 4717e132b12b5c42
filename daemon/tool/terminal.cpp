// SPDX-License-Identifier: MIT
#include "daemon/tool/terminal.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <cstdio>
#include <cstdlib>

#include <sys/ioctl.h>
#include <unistd.h>

namespace nightlatch::tool {

page::Style style_of_output() {
    page::Style style;
    if (isatty(STDOUT_FILENO) == 1) {
        style.colour = std::getenv("NO_COLOR") == nullptr;
        winsize size{};
        if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) {
            style.columns = std::clamp<unsigned>(size.ws_col, 60, 110);
        }
    }
    return style;
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
