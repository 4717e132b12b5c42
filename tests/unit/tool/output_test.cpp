// SPDX-License-Identifier: MIT
#include "daemon/tool/output.hpp"
#include "support/temporary_directory.hpp"

#include <filesystem>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using tool::OutputFile;

namespace {

namespace fs = std::filesystem;

}  // namespace

TEST_CASE("a file that was asked for and never written is not left empty", "[output]") {
    const test::TemporaryDirectory folder;
    const std::string path = folder.path() + "/lid.vcd";
    {
        auto file = OutputFile::open(path);
        REQUIRE(file);
        CHECK(fs::exists(path));  // known to be writable before the person presses
    }
    CHECK_FALSE(fs::exists(path));
    {
        auto file = OutputFile::open(path);
        REQUIRE(file);
        OutputFile moved = std::move(*file);
        CHECK(moved.write("$end\n"));
    }
    CHECK(fs::file_size(path) == 5);
}

TEST_CASE("a device that takes nothing is told with the reason, and stays", "[output]") {
    const Outcome written = tool::write_file("/dev/full", "a picture");
    REQUIRE_FALSE(written);
    CHECK(written.error().text == "cannot write /dev/full: No space left on device");
    CHECK(fs::exists("/dev/full"));
}

TEST_CASE("through a link it is the file that goes, not the link", "[output]") {
    const test::TemporaryDirectory folder;
    const std::string link = folder.path() + "/latest.svg";
    fs::create_symlink(folder.path() + "/day.svg", link);
    { REQUIRE(OutputFile::open(link)); }
    CHECK(fs::is_symlink(link));
    CHECK_FALSE(fs::exists(folder.path() + "/day.svg"));
}

TEST_CASE("a file that cannot be made is told with the reason", "[output]") {
    const test::TemporaryDirectory folder;
    const std::string path = folder.path() + "/none/day.svg";
    CHECK(tool::write_file(path, "").error().text ==
          "cannot write " + path + ": No such file or directory");
}
