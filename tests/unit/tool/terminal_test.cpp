// SPDX-License-Identifier: MIT
#include "daemon/tool/terminal.hpp"

#include <cstdlib>
#include <optional>
#include <string>

#include <catch2/catch_test_macros.hpp>
#include <pty.h>
#include <sys/ioctl.h>
#include <unistd.h>

using namespace nightlatch;

namespace {

/// A terminal of so many columns; 0: it does not say.
class Terminal {
public:
    explicit Terminal(unsigned short columns) {
        winsize size{};
        size.ws_row = 25;
        size.ws_col = columns;
        REQUIRE(openpty(&keyboard_, &screen_, nullptr, nullptr, &size) == 0);
    }

    Terminal(const Terminal&) = delete;
    Terminal& operator=(const Terminal&) = delete;

    ~Terminal() {
        close(screen_);
        close(keyboard_);
    }

    [[nodiscard]] page::Style style() const { return tool::style_of(screen_); }

    [[nodiscard]] tool::TerminalSize size() const { return tool::size_of(screen_); }

private:
    int keyboard_ = -1;
    int screen_ = -1;
};

/// $NO_COLOR as a test wants it, and as it was afterwards.
class NoColour {
public:
    explicit NoColour(bool set) {
        if (const char* const before = std::getenv("NO_COLOR")) {
            before_ = before;
        }
        set ? setenv("NO_COLOR", "1", 1) : unsetenv("NO_COLOR");
    }

    NoColour(const NoColour&) = delete;
    NoColour& operator=(const NoColour&) = delete;

    ~NoColour() { before_ ? setenv("NO_COLOR", before_->c_str(), 1) : unsetenv("NO_COLOR"); }

private:
    std::optional<std::string> before_;
};

}  // namespace

TEST_CASE("a page is as wide as its terminal, within what can be read", "[terminal]") {
    CHECK(Terminal(60).style().columns == 60);
    CHECK(Terminal(97).style().columns == 97);
    CHECK(Terminal(110).style().columns == 110);
    CHECK(Terminal(20).style().columns == 60);
    CHECK(Terminal(400).style().columns == 110);
    CHECK(Terminal(0).style().columns == 80);
}

TEST_CASE("a terminal's size is its own, and a usual one where it does not say", "[terminal]") {
    CHECK(Terminal(20).size().columns == 20);
    CHECK(Terminal(20).size().rows == 25);
    CHECK(Terminal(0).size().columns == 80);
    CHECK(Terminal(0).size().rows == 24);
}

TEST_CASE("a shell's own $COLUMNS makes no page wider", "[terminal]") {
    setenv("COLUMNS", "99", 1);
    CHECK(Terminal(72).style().columns == 72);
    CHECK(Terminal(0).style().columns == 80);
    unsetenv("COLUMNS");
}

TEST_CASE("what is not a terminal gets 80 columns and no colour", "[terminal]") {
    const NoColour no_colour(false);
    int ends[2] = {-1, -1};
    REQUIRE(pipe(ends) == 0);
    CHECK(tool::style_of(ends[1]).columns == 80);
    CHECK_FALSE(tool::style_of(ends[1]).colour);
    close(ends[0]);
    close(ends[1]);
}

TEST_CASE("a terminal gets colour unless $NO_COLOR is there", "[terminal]") {
    {
        const NoColour no_colour(false);
        CHECK(Terminal(80).style().colour);
    }
    const NoColour no_colour(true);
    CHECK_FALSE(Terminal(80).style().colour);
}
