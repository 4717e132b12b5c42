// SPDX-License-Identifier: MIT
#include <cstdio>

int main(int argc, char** argv) {
    char text[64];
    return std::snprintf(text, sizeof text, "%s", argv[argc - 1]) < 0 ? 1 : 0;
}
