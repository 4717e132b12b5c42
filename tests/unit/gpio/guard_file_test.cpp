// SPDX-License-Identifier: MIT
#include "daemon/guard/guard_file.hpp"
#include "support/temporary_directory.hpp"

#include <csignal>
#include <filesystem>
#include <fstream>
#include <limits>

#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

using namespace nightlatch;
using namespace std::chrono_literals;
using Catch::Matchers::ContainsSubstring;
using guard::GuardFile;
using guard::parse_guard_text;
using lines::Bias;
using test::TemporaryDirectory;

namespace {

const GuardFile button{"gpiochip0", 5, true, Bias::pull_up, 160ms};
constexpr std::string_view button_text = "nightlatch-guard 1 gpiochip0 5 active-low pull-up 160\n";

void put(const std::string& path, std::string_view text) {
    std::ofstream file(path, std::ios::binary);
    file << text;
}

std::string what_is_odd(const std::string& path) {
    const auto read = guard::read_guard_file(path);
    return read ? "nothing" : read.error().text;
}

}  // namespace

TEST_CASE("the guard's line is one line of text", "[guard]") {
    CHECK(guard::guard_text(button) == button_text);
    CHECK(parse_guard_text(button_text) == button);
}

TEST_CASE("whatever is within range is read back as it was written", "[guard]") {
    const std::string chip = GENERATE("gpiochip0", "gpiochip9999");
    const unsigned offset = GENERATE(0U, 65535U);
    const bool active_low = GENERATE(false, true);
    const Bias bias = GENERATE(Bias::as_is, Bias::none, Bias::pull_up, Bias::pull_down);
    const Duration interval = GENERATE(Duration{0ms}, Duration{1ms}, Duration{5s});
    const GuardFile file{chip, offset, active_low, bias, interval};
    CHECK(parse_guard_text(guard::guard_text(file)) == file);
}

TEST_CASE("a part of a millisecond waits a whole one", "[guard]") {
    GuardFile file = button;
    file.release_interval = 160ms + 1ns;
    CHECK(parse_guard_text(guard::guard_text(file))->release_interval == 161ms);
}

TEST_CASE("what the service would not write is not read", "[guard]") {
    const std::string_view text =
        GENERATE(as<std::string_view>{},
                 "",
                 "\n",
                 "nightlatch-guard 1 \n",
                 "nightlatch-guard 1 gpiochip0 5 active-low pull-up 160",
                 "nightlatch-guard 2 gpiochip0 5 active-low pull-up 160\n",
                 "nightlatch-guard 1 gpiochip0 5 active-low pull-up\n",
                 "nightlatch-guard 1 gpiochip0 5 active-low pull-up \n",
                 "nightlatch-guard 1 gpiochip0 5 active-low pull-up 160 \n",
                 "nightlatch-guard 1 gpiochip0 5 active-low pull-up 160\n\n",
                 "nightlatch-guard 1 gpiochip0 5  active-low pull-up 160\n",
                 "nightlatch-guard 1 gpiochip0 5 active-low pull-up 5001\n",
                 "nightlatch-guard 1 gpiochip0 5 active-low pull-up -1\n",
                 "nightlatch-guard 1 gpiochip0 5 active-low pull-up 0160\n",
                 "nightlatch-guard 1 gpiochip0 5 active-low pull-up 1e3\n",
                 "nightlatch-guard 1 gpiochip0 5 active-low up 160\n",
                 "nightlatch-guard 1 gpiochip0 5 low pull-up 160\n",
                 "nightlatch-guard 1 gpiochip0 65536 active-low none 160\n",
                 "nightlatch-guard 1 gpiochip0 +5 active-low none 160\n",
                 "nightlatch-guard 1 gpiochip10000 5 active-low none 1\n",
                 "nightlatch-guard 1 gpiochip 5 active-low none 160\n",
                 "nightlatch-guard 1 gpiochip00 5 active-low none 160\n",
                 "nightlatch-guard 1 ../gpiochip0 5 active-low none 1\n",
                 "nightlatch-guard 1 gpiochip0/.. 5 active-low none 1\n",
                 "nightlatch-guard 1 /dev/mem 5 active-low none 160\n",
                 "nightlatch-guard 1 sda 5 active-low none 160\n");
    INFO(text);
    CHECK_FALSE(parse_guard_text(text));
}

TEST_CASE("no single changed byte turns the line into an odd one", "[guard]") {
    // Each value that still parses is within range; everything else is refused.
    unsigned parsed = 0;
    for (std::size_t place = 0; place < button_text.size(); ++place) {
        for (int byte = 0; byte < 256; ++byte) {
            std::string text(button_text);
            text[place] = static_cast<char>(byte);
            const auto file = parse_guard_text(text);
            if (!file) {
                continue;
            }
            ++parsed;
            CHECK(guard::guard_text(*file) == text);
        }
    }
    // The bytes as they are, 9 other chips, 9 other offsets, and of the interval 8 + 9 + 9 others.
    CHECK(parsed == button_text.size() + 9 + 9 + 8 + 9 + 9);
}

TEST_CASE("a written file is read back, and replaces the one before", "[guard]") {
    const TemporaryDirectory run;
    const std::string path = run.path() + "/guard";
    put(path + ".new", "left over from a crash");
    REQUIRE(guard::write_guard_file(path, button));
    CHECK(*guard::read_guard_file(path) == button);
    GuardFile other = button;
    other.chip = "gpiochip12";
    REQUIRE(guard::write_guard_file(path, other));
    CHECK(*guard::read_guard_file(path) == other);
    CHECK(access((path + ".new").c_str(), F_OK) != 0);
    guard::remove_guard_file(path);
    CHECK_THAT(what_is_odd(path), ContainsSubstring("not there"));
}

TEST_CASE("a line that cannot be waited for leaves no file: the one before is another's",
          "[guard]") {
    const TemporaryDirectory run;
    const std::string path = run.path() + "/guard";
    for (const GuardFile& file : {GuardFile{"", 0, false, Bias::as_is, 0ms},
                                  GuardFile{"gpiochip0", 65536, false, Bias::as_is, 0ms},
                                  GuardFile{"gpiochip0", 0, false, Bias::as_is, 6s},
                                  GuardFile{"gpiochip0", 0, false, Bias::as_is, -1ms}}) {
        REQUIRE(guard::write_guard_file(path, button));
        CHECK_FALSE(guard::write_guard_file(path, file));
        CHECK_THAT(what_is_odd(path), ContainsSubstring("not there"));
    }
}

TEST_CASE("a file that cannot be replaced goes, and the failure says why", "[guard]") {
    const TemporaryDirectory run;
    const std::string path = run.path() + "/guard";
    REQUIRE(guard::write_guard_file(path, button));
    GuardFile other = button;
    other.offset = 6;
    SECTION("something stands in the new one's place") {
        std::filesystem::create_directories(path + ".new/in use");
        const Outcome written = guard::write_guard_file(path, other);
        REQUIRE_FALSE(written);
        CHECK_THAT(written.error().text, ContainsSubstring("File exists"));
    }
    SECTION("there is no room for the whole of it") {
        rlimit before{};
        REQUIRE(getrlimit(RLIMIT_FSIZE, &before) == 0);
        const rlimit small{10, before.rlim_max};
        std::signal(SIGXFSZ, SIG_IGN);
        REQUIRE(setrlimit(RLIMIT_FSIZE, &small) == 0);
        const Outcome written = guard::write_guard_file(path, other);
        REQUIRE(setrlimit(RLIMIT_FSIZE, &before) == 0);
        std::signal(SIGXFSZ, SIG_DFL);
        REQUIRE_FALSE(written);
        CHECK_THAT(written.error().text, ContainsSubstring("No space left"));
        CHECK(access((path + ".new").c_str(), F_OK) != 0);
    }
    CHECK_THAT(what_is_odd(path), ContainsSubstring("not there"));
    const Outcome nowhere = guard::write_guard_file(run.path() + "/none/guard", button);
    REQUIRE_FALSE(nowhere);
    CHECK_THAT(nowhere.error().text, ContainsSubstring("No such file"));
}

TEST_CASE("what is found in the file's place is distrusted", "[guard]") {
    const TemporaryDirectory run;
    const std::string path = run.path() + "/guard";
    const std::string real = run.path() + "/real";
    put(real, button_text);
    SECTION("a symbolic link, even to a good file") {
        REQUIRE(symlink(real.c_str(), path.c_str()) == 0);
        CHECK_THAT(what_is_odd(path), ContainsSubstring("symbolic links"));
    }
    SECTION("a directory") {
        REQUIRE(mkdir(path.c_str(), 0700) == 0);
        CHECK_THAT(what_is_odd(path), ContainsSubstring("no regular file"));
    }
    SECTION("a FIFO, without waiting for its writer") {
        REQUIRE(mkfifo(path.c_str(), 0600) == 0);
        CHECK_THAT(what_is_odd(path), ContainsSubstring("no regular file"));
    }
    SECTION("a long file that begins well") {
        put(path, std::string(button_text) + std::string(100'000, ' '));
        CHECK_THAT(what_is_odd(path), ContainsSubstring("too long"));
    }
    SECTION("other text") {
        put(path, std::string("nightlatch-guard\0 1", 19));
        CHECK_THAT(what_is_odd(path), ContainsSubstring("not what the service writes"));
    }
    SECTION("an empty file") {
        put(path, "");
        CHECK_THAT(what_is_odd(path), ContainsSubstring("not what the service writes"));
    }
}
