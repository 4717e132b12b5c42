// SPDX-License-Identifier: MIT
#include "base/text.hpp"
#include "daemon/facts/files.hpp"
#include "support/opens.hpp"
#include "unit/facts/made.hpp"

#include <array>
#include <cerrno>
#include <thread>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <sys/stat.h>
#include <sys/sysmacros.h>

using namespace nightlatch;
using Catch::Matchers::Equals;

TEST_CASE("a file is read whole, and a value without the white space around it", "[facts]") {
    test::MadeFolder made;
    made.file("/proc/sys/kernel/panic", " 10\n");
    CHECK(*facts::read_file(made.root(), "/proc/sys/kernel/panic") == " 10\n");
    CHECK(*facts::read_value(made.root(), "/proc/sys/kernel/panic") == "10");
    CHECK(*facts::read_number(made.root(), "/proc/sys/kernel/panic") == 10);
}

TEST_CASE("what is missing is told with its path and the reason", "[facts]") {
    test::MadeFolder made;
    made.file("/word", "ten");
    made.file("/large", std::string(2000, 'x'));
    const auto absent = facts::read_file(made.root(), "/nothing");
    REQUIRE_FALSE(absent);
    CHECK(absent.error().absent());
    CHECK_THAT(absent.error().text, Equals(made.root() + "/nothing (not there)"));
    CHECK_THAT(facts::read_number(made.root(), "/word").error().text,
               Equals(made.root() + "/word (holds no number)"));
    CHECK_THAT(facts::read_file(made.root(), "/large", 1024).error().text,
               Equals(made.root() + "/large (larger than 1 KiB)"));
    CHECK_THAT(facts::missing("/dev/kmsg", EPERM).text, Equals("/dev/kmsg (denied: run as root)"));
    CHECK_FALSE(facts::missing("/dev/kmsg", EPERM).absent());
}

TEST_CASE("a link of an image leads nowhere out of the image", "[facts]") {
    test::MadeFolder made;
    made.file("/etc/real", "the image's");
    made.link("/absolute", "/etc/real");
    made.link("/upwards", "../../../../../../../../etc/real");
    made.link("/machine", "/proc/self/status");
    made.link("/loop", "/loop");
    CHECK(*facts::read_file(made.root(), "/absolute") == "the image's");
    CHECK(*facts::read_file(made.root(), "/upwards") == "the image's");
    CHECK(facts::read_file(made.root(), "/machine").error().absent());
    CHECK(facts::read_file(made.root(), "/loop").error().number == ELOOP);
    CHECK(*facts::link_target(made.root(), "/absolute") == "/etc/real");
    CHECK_FALSE(facts::link_target(made.root(), "/etc/real"));
}

TEST_CASE("what is not a regular file is told so, on an image and on this machine", "[facts]") {
    test::MadeFolder made;
    REQUIRE(mkfifo((made.root() + "/pipe").c_str(), 0600) == 0);
    const std::string told = made.root() + "/pipe (not a regular file)";
    CHECK_THAT(facts::read_file(made.root(), "/pipe").error().text, Equals(told));
    CHECK_THAT(facts::read_file("", made.root() + "/pipe").error().text, Equals(told));
    CHECK_FALSE(facts::read_file(made.root(), "/"));
}

TEST_CASE("of an image nothing but files and folders is ever opened", "[facts]") {
    test::MadeFolder made;
    made.file("/file", "a file");
    REQUIRE(mkfifo((made.root() + "/pipe").c_str(), 0600) == 0);
    made.link("/link", "/pipe");
    // Only root may make a device that can be opened; the null device's opening does nothing.
    if (getuid() == 0) {
        REQUIRE(mknod((made.root() + "/device").c_str(), S_IFCHR | 0600, makedev(1, 3)) == 0);
    }
    test::OpensBelow opens(made.root());
    for (const char* const path : {"/pipe", "/link", "/device"}) {
        INFO(path);
        CHECK_FALSE(facts::read_file(made.root(), path));
        CHECK_FALSE(facts::names_in(made.root(), path));
    }
    CHECK(opens.take() == 0);
    CHECK(facts::read_file(made.root(), "/file"));
    CHECK(opens.take() == 1);  // so an opening would have been seen
}

TEST_CASE("a file that a person names may be a pipe, and is waited for", "[facts]") {
    std::array<int, 2> ends{};
    REQUIRE(pipe(ends.data()) == 0);
    std::thread writer([&] {
        CHECK(write(ends[1], "tide", 4) == 4);
        close(ends[1]);
    });
    const auto read = facts::read_named_file("/dev/fd/" + std::to_string(ends[0]), 10);
    writer.join();
    close(ends[0]);
    REQUIRE(read);
    CHECK(*read == "tide");
}

TEST_CASE("past a budget no further file is opened", "[facts]") {
    test::MadeFolder made;
    for (const char* const name : {"/a", "/b", "/c"}) {
        made.file(name, std::string(1000, 'x'));
    }
    facts::Budget two_files(2, 10'000);
    CHECK(two_files.read(made.root(), "/a"));
    CHECK(two_files.read(made.root(), "/b"));
    CHECK_THAT(two_files.read(made.root(), "/c").error().text,
               Equals(made.root() + "/c (there are too many such files)"));
    facts::Budget bytes(10, 1500);
    CHECK(bytes.read(made.root(), "/a"));
    CHECK(bytes.read(made.root(), "/b").error().number == EFBIG);
    test::OpensBelow opens(made.root());
    CHECK(bytes.read(made.root(), "/c").error().number == EFBIG);
    CHECK(opens.take() == 0);
}

TEST_CASE("a folder's names come sorted", "[facts]") {
    test::MadeFolder made;
    made.file("/some/b", "");
    made.file("/some/a", "");
    made.file("/some/c/d", "");
    CHECK(*facts::names_in(made.root(), "/some") == std::vector<std::string>{"a", "b", "c"});
    CHECK(facts::names_in(made.root(), "/none").error().absent());
    CHECK(facts::names_in(made.root(), "/some/a").error().absent());
    CHECK(*facts::is_there(made.root(), "/some/a"));
    CHECK_FALSE(*facts::is_there(made.root(), "/some/x"));
}

TEST_CASE("text is divided into lines and words", "[facts]") {
    CHECK(facts::lines_of("a\n\nb") == std::vector<std::string>{"a", "", "b"});
    CHECK(facts::lines_of("").empty());
    CHECK(facts::words_of(" a\tb \n") == std::vector<std::string>{"a", "b"});
    CHECK(trimmed(" \t ").empty());
}
